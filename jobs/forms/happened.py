"""Forms of what else happened: a pause, another promise, a job squeezed in, something that failed. Cleaning only."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django import forms

from jobs.models import Activity, Job
from jobs.services.by_hand.works import HandWork
from jobs.services.storm.happened import WHOLE, Failure, beside, unplanned

from .by_hand import MOST_DAYS, MOST_PEOPLE
from .crews import known_skills
from .fields import day_field, offer

if TYPE_CHECKING:
    from collections.abc import Mapping

FARTHEST = timedelta(days=2 * 365)


class _AboutJob(forms.Form):
    """Which job it is about, and why, in somebody's own words."""

    job = forms.ChoiceField(label="Which job")
    why = forms.CharField(required=False, max_length=120, label="In your words")

    def __init__(self, today: date, data: Mapping[str, Any] | None = None, **initial: Any) -> None:
        super().__init__(data, label_suffix="", initial=initial)
        self.today = today
        self.known = {job.slug: job for job in self.jobs()}
        offer(self, "job", [(slug, job.name) for slug, job in self.known.items()])

    def jobs(self) -> list[Job]:
        """Return the jobs to choose from."""
        return list(Job.objects.filter(state__in=Job.OPEN).order_by("name"))

    def chosen(self) -> Job:
        """Return the job that was chosen, once it is clean."""
        return self.known[self.cleaned_data["job"]]


class PauseForm(_AboutJob):
    """A job rests for some time."""

    first = day_field(label="Rests from")
    until = day_field(label="Goes on from", help_text="your best guess; change it when you know")
    field_order = ("job", "first", "until", "why")

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order or out of sight."""
        told = super().clean() or {}
        first, until = told.get("first"), told.get("until")
        if first and until and until <= first:
            self.add_error("until", "This is not after the pause begins: swap the two.")
        elif until and until > self.today + FARTHEST:
            self.add_error("until", "This is more than two years away: look at the year.")
        elif first and first < self.today - FARTHEST:
            self.add_error("first", "This is more than two years ago: look at the year.")
        return told


class PromiseForm(_AboutJob):
    """Another day was agreed with the owner."""

    day = day_field(label="Promised now", required=False, help_text="empty: nothing promised")
    field_order = ("job", "day", "why")

    def clean_day(self) -> date | None:
        """Nobody promises what is over, or what he will not see."""
        day: date | None = self.cleaned_data["day"]
        if day and day < self.today:
            raise forms.ValidationError("This day is over: promise a later one.")
        if day and day > self.today + FARTHEST:
            raise forms.ValidationError("This is more than two years away: look at the year.")
        return day


class SqueezeForm(_AboutJob):
    """A job is to be planned between the others."""

    def jobs(self) -> list[Job]:
        """Return bids, and jobs that nothing published knows of."""
        return unplanned()


class FailedForm(forms.Form):
    """What has to be done or looked at again, what puts it right, and from when."""

    day = day_field(label="When it took place")
    share = forms.IntegerField(
        min_value=1,
        max_value=WHOLE,
        initial=WHOLE,
        label="How much of it again",
        help_text="percent",
    )
    also = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Also to be done again"
    )
    days = forms.DecimalField(
        required=False, min_value=Decimal("0.25"), max_value=MOST_DAYS, max_digits=6,
        decimal_places=2, label="Days to put it right first",
        help_text="breaking out, mending; empty: none",
    )  # fmt: skip
    skill = forms.ChoiceField(required=False, label="Who puts it right")
    people = forms.IntegerField(required=False, min_value=1, max_value=MOST_PEOPLE, initial=2)
    not_before = day_field(
        required=False, label="Again not before", help_text="empty: as soon as it can be"
    )
    why = forms.CharField(required=False, max_length=120, label="What was wrong")

    def __init__(self, work: Activity, today: date, data: Mapping[str, Any] | None = None) -> None:
        done, lost = beside(work)
        super().__init__(
            data, label_suffix="", initial={"day": _took_place(work, today), "also": list(lost)}
        )
        self.work, self.today = work, today
        self.others = {other.uid: other for other in done}
        offer(self, "also", [(uid, other.name) for uid, other in self.others.items()])
        if not self.others:
            del self.fields["also"]
        offer(self, "skill", [(skill, skill) for skill in known_skills()])

    def clean(self) -> dict[str, Any]:
        """What took place is over; what puts right takes people."""
        told = super().clean() or {}
        day, again = told.get("day"), told.get("not_before")
        if day and day > self.today:
            self.add_error("day", "That day is yet to come: say it when it is over.")
        if again and again > self.today + FARTHEST:
            self.add_error("not_before", "This is more than two years away: look at the year.")
        if told.get("days") and not told.get("people") and "people" not in self.errors:
            self.add_error("people", "Say how many people it takes.")
        return told

    def failure(self) -> Failure:
        """Return what was said, once it is clean."""
        told = self.cleaned_data
        zone = self.work.zone or self.work.job.zones.get(whole=True)
        name = f"Put right: {self.work.name}"[:105]
        right = (
            HandWork(name, zone, told["skill"], told["days"], told["people"])
            if told["days"]
            else None
        )
        return Failure(
            work=self.work,
            day=told["day"],
            also=[self.others[uid] for uid in told.get("also", ())],
            share=told["share"],
            right=right,
            not_before=told["not_before"],
            why=told["why"],
        )


def _took_place(work: Activity, today: date) -> date:
    if work.finished_at is None:
        return today
    return work.finished_at.astimezone(ZoneInfo(work.job.zone)).date()
