"""Forms of what is done by hand: a work of one's own, pins, a split, a link. Cleaning only, no saving."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.db.models import Count

from crews.models import Crew
from jobs.services.by_hand.split import SMALLEST_SHARE
from jobs.services.by_hand.ties import IN_ORDER, MINUTES, HandLink, clock_of
from jobs.services.by_hand.works import OUTSIDE, HandWork, Pins
from jobs.services.telling.speech import say_skill

from .crews import known_skills
from .fields import day_field, offer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from jobs.models import Activity, Job, Zone

RELATIONS = (
    ("finish-to-start", "starts once it is finished"),
    ("start-to-start", "starts once it has started"),
    ("finish-to-finish", "ends no sooner than it is finished"),
    ("start-to-finish", "ends no sooner than it has started"),
)
UNITS = (
    ("days", "days"),
    ("hours", "hours"),
    ("work_days", "working days"),
    ("business_days", "business days"),
)
AFTER, BEFORE = "after", "before"
HIRED = "/hired"
"""Chosen in place of a crew; no slug of a crew has a slash."""
MOST_WAIT, MOST_PEOPLE = 400, 20
MOST_DAYS = Decimal(60)


class WorkForm(forms.Form):
    """A work no template gives."""

    name = forms.CharField(max_length=105)
    where = forms.ChoiceField()
    skill = forms.ChoiceField(label="Who")
    days = forms.DecimalField(
        min_value=Decimal("0.25"), max_value=MOST_DAYS, max_digits=6, decimal_places=2,
        help_text="a quarter day is two hours", initial=1,
    )  # fmt: skip
    people = forms.IntegerField(min_value=1, max_value=MOST_PEOPLE, initial=2)

    def __init__(
        self, job: Job, data: Mapping[str, Any] | None, row: Activity | None = None
    ) -> None:
        super().__init__(data, initial=_told(row) if row else {}, label_suffix="")
        self.zones: dict[str, Zone] = {zone.slug: zone for zone in job.zones.all()}
        skills = [(skill, say_skill(skill)) for skill in known_skills()]
        offer(self, "where", [(slug, zone.name) for slug, zone in self.zones.items()])
        offer(self, "skill", [*skills, (OUTSIDE, "somebody outside the company")])

    def clean(self) -> dict[str, Any]:
        """Refuse a work that none of the crews has the people for."""
        told = super().clean() or {}
        skill, people = told.get("skill"), told.get("people")
        if skill and people and skill != OUTSIDE:
            able = _most_people(skill)
            if able is not None and people > able:
                self.add_error(
                    "people",
                    f"No crew has so many who can do {say_skill(skill)}: {able} at the most.",
                )
        return told

    def work(self) -> HandWork:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        name = " ".join(told["name"].split())
        return HandWork(
            name, self.zones[told["where"]], told["skill"], told["days"], told["people"]
        )


class PinForm(forms.Form):
    """The days a work may lie between, and the crew that does it."""

    not_before = day_field(required=False, label="Not before")
    not_after = day_field(required=False, label="Not after", help_text="empty: no pin")
    only_crew = forms.ChoiceField(label="Only by", required=False)

    def __init__(self, row: Activity, data: Mapping[str, Any] | None = None) -> None:
        initial = {
            "not_before": row.not_before,
            "not_after": row.not_after,
            "only_crew": HIRED if row.hired else row.only_crew.slug if row.only_crew else "",
        }
        super().__init__(data, initial=initial, label_suffix="")
        self.known = {crew.slug: crew for crew in (*able_crews(row), row.only_crew) if crew}
        names = [(slug, crew.name) for slug, crew in self.known.items()]
        by = [("", "any crew that can do it"), *names, (HIRED, "somebody hired, none of our crews")]
        offer(self, "only_crew", by)

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order."""
        told = super().clean() or {}
        first, last = told.get("not_before"), told.get("not_after")
        if first and last and last < first:
            self.add_error("not_after", "This lies before the first day: swap the two.")
        return told

    def pins(self) -> Pins:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        by = told["only_crew"]
        return Pins(told["not_before"], told["not_after"], self.known.get(by), by == HIRED)


class LendForm(forms.Form):
    """A second crew for a work: any that has the skill, as long as another one is left to do it."""

    crew = forms.ChoiceField(label="Second crew", required=False)

    def __init__(self, row: Activity, data: Mapping[str, Any] | None = None) -> None:
        initial = {"crew": row.lent.slug if row.lent else ""}
        super().__init__(data, initial=initial, label_suffix="")
        self.known = {crew.slug: crew for crew in able_crews(row)}
        names = [(slug, crew.name) for slug, crew in self.known.items()]
        offered = names if self.possible else []
        offer(self, "crew", [("", "none: one crew does it"), *offered])

    @property
    def possible(self) -> bool:
        """True if there is a crew to lend."""
        return len(self.known) > 1

    def lent(self) -> Crew | None:
        """Return the crew that was chosen, once it is clean."""
        return self.known.get(self.cleaned_data["crew"])


class SplitForm(forms.Form):
    """How much of a work stays first."""

    share = forms.IntegerField(
        min_value=SMALLEST_SHARE, max_value=100 - SMALLEST_SHARE, initial=50,
        label="First part", help_text="percent of this work",
    )  # fmt: skip

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, label_suffix="")


class TieForm(forms.Form):
    """A link to another work, in words."""

    way = forms.ChoiceField(
        label="This work comes", choices=[(AFTER, "after"), (BEFORE, "before")], initial=AFTER
    )
    other = forms.ChoiceField(label="the other one")
    relation = forms.ChoiceField(label="and the later one", choices=RELATIONS)
    wait = forms.IntegerField(min_value=0, max_value=MOST_WAIT, initial=0, label="after a wait of")
    unit = forms.ChoiceField(choices=UNITS, label="counted in")
    most = forms.IntegerField(
        min_value=1,
        max_value=MOST_WAIT,
        required=False,
        label="but at most",
        help_text="may be empty",
    )
    most_unit = forms.ChoiceField(choices=UNITS[:2], label="counted in")
    why = forms.CharField(max_length=200, required=False, help_text="it stands beside the link")
    reason = forms.CharField(max_length=200, required=False, widget=forms.HiddenInput)

    def __init__(
        self, row: Activity, others: Sequence[Activity], data: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(data, label_suffix="")
        self.row = row
        self.others = {other.uid: other for other in others if other.pk != row.pk}
        names = [(uid, other.name) for uid, other in self.others.items()]
        offer(self, "other", [("", "choose a work"), *names])

    def clean(self) -> dict[str, Any]:
        """Refuse a limit shorter than the wait."""
        told = super().clean() or {}
        wait = (told.get("wait") or 0) * MINUTES.get(told.get("unit", ""), 0)
        most = (told.get("most") or 0) * MINUTES.get(told.get("most_unit", ""), 0)
        if most and most < wait:
            self.add_error("most", "This is less than the wait: give more time, or wait less.")
        return told

    def link(self) -> HandLink:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        other = self.others[told["other"]]
        before, after = (other, self.row) if told["way"] == AFTER else (self.row, other)
        lag, clock = clock_of(told["wait"], told["unit"])
        most = told["most"] * MINUTES[told["most_unit"]] if told["most"] else None
        return HandLink(before, after, told["relation"], lag, clock, most, told["why"].strip())


def able_crews(row: Activity) -> Iterable[Crew]:
    """Return the crews that have the skill a work asks for."""
    return Crew.objects.filter(active=True, skills__skill=row.skill).order_by("name")


def order_told(told: str) -> dict[str, str]:
    """Return ``before UID`` or ``after UID`` as the form of a tie says it; nothing for anything else."""
    way, _, other = told.partition(" ")
    if way not in (AFTER, BEFORE):
        return {}
    plain = {"relation": RELATIONS[0][0], "wait": "0", "unit": "days", "most_unit": "days"}
    return plain | {"way": way, "other": other, "why": IN_ORDER}


def _told(row: Activity) -> dict[str, Any]:
    return {
        "name": row.name,
        "where": row.zone.slug if row.zone else "",
        "skill": row.skill,
        "days": row.days.normalize(),
        "people": row.people,
    }


def _most_people(skill: str) -> int | None:
    """The most people of one crew who can do something; None where there is no crew at all."""
    crews = Crew.objects.filter(active=True).annotate(size=Count("members", distinct=True))
    if not crews:
        return None
    able = [
        row.people or crew.size
        for crew in crews.prefetch_related("skills")
        for row in crew.skills.all()
        if row.skill == skill
    ]
    return max(able, default=0)
