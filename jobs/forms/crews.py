"""Forms of crews, machines and days off. Cleaning only, no saving."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from crews.models import Crew, CrewMember, Machine, Person
from crews.models.crew import LANGUAGES
from crews.services.setup import HALF_DAYS, WEEKDAYS, Able, CrewFacts, crew_stands, machine_stands
from jobs.services.numbers.library import current_library
from jobs.services.telling.speech import say_skill
from jobs.services.telling.yardstick import yardstick

from .fields import LengthField, offer

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    _OneMember = forms.ModelChoiceField[CrewMember]
else:
    _OneMember = forms.ModelChoiceField

MOST_PEOPLE = 40
DIGITS = 4


def known_skills() -> list[str]:
    """Return every skill a crew of ours may have, in alphabetical order."""
    crews = current_library().crews.values()
    return sorted({crew.skill for crew in crews if not crew.outside})


def skill_needs() -> dict[str, str]:
    """Return for each skill how many people its works take, least and usual: ``works take 2 to 3``."""
    library = current_library()
    least: dict[str, int] = {}
    usual: dict[str, int] = {}
    for template in library.templates.values():
        crew = library.crews[template.crew]
        least[crew.skill] = min(template.least, least.get(crew.skill, template.least))
        usual[crew.skill] = max(crew.usual, usual.get(crew.skill, 0))
    return {
        skill: f"works take {few}" if few == usual[skill] else f"works take {few} to {usual[skill]}"
        for skill, few in least.items()
    }


class CrewForm(forms.Form):
    """A crew: name, lead, people, skills, working week."""

    name = forms.CharField(max_length=60)
    lead = forms.ModelChoiceField(Person.objects.all(), required=False, empty_label="nobody yet")
    language = forms.ChoiceField(
        choices=LANGUAGES, initial="en", required=False, label="Messages in"
    )
    people = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 5}), help_text="one name a line", max_length=4000
    )
    saturdays = forms.BooleanField(
        required=False, label="May be asked for", help_text="where a promise would be missed"
    )
    saturday_price = forms.DecimalField(
        required=False, min_value=0, max_digits=8, decimal_places=2,
        label="What such a day costs more", help_text="dollars; may be empty",
    )  # fmt: skip

    def __init__(self, *args: Any, crew: Crew | None = None, **kwargs: Any) -> None:
        self.crew = crew
        if crew is not None:
            kwargs.setdefault("initial", _told(crew))
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        needs = skill_needs()
        for skill in known_skills():
            self.fields[f"skill_{skill}"] = forms.CharField(
                label=say_skill(skill),
                required=False,
                max_length=400,
                help_text=needs.get(skill, ""),
            )
        for day in WEEKDAYS:
            self.fields[f"day_{day}"] = forms.ChoiceField(
                label=day.capitalize(), choices=[(word, word) for word in HALF_DAYS]
            )
            weekend = day in WEEKDAYS[5:]
            self.fields[f"day_{day}"].initial = "off" if weekend else "all day"

    @property
    def skill_fields(self) -> list[forms.BoundField]:
        """The fields of skills."""
        return [self[name] for name in self.fields if name.startswith("skill_")]

    @property
    def day_fields(self) -> list[forms.BoundField]:
        """The fields of weekdays."""
        return [self[name] for name in self.fields if name.startswith("day_")]

    def clean_people(self) -> list[str]:
        """Read one name a line."""
        names = [line.strip() for line in self.cleaned_data["people"].splitlines() if line.strip()]
        twice = {name for name in names if names.count(name) > 1}
        if twice:
            raise forms.ValidationError(
                f"{', '.join(sorted(twice))} stands twice: tell them apart."
            )
        if len(names) > MOST_PEOPLE:
            raise forms.ValidationError("A crew of more than 40 people: make it several crews.")
        return names

    def clean(self) -> dict[str, Any]:
        """Read skills and weekdays; a crew that can do nothing is refused."""
        told = super().clean() or {}
        people = told.get("people") or []
        skills: dict[str, Able] = {}
        for name in [n for n in self.fields if n.startswith("skill_")]:
            self._skill(name, str(told.get(name, "")).strip(), people, skills)
        if not skills and not self.errors:
            self.add_error(None, "Say at least one thing this crew can do.")
        told["skills"] = skills
        told["week"] = tuple(HALF_DAYS[str(told.get(f"day_{day}", "off"))] for day in WEEKDAYS)
        self._refuse_taken(told.get("name", ""))
        return told

    def _refuse_taken(self, name: str) -> None:
        """Refuse a name another crew has, except from a form sent again: that one made it."""
        others = Crew.objects.exclude(pk=self.crew.pk) if self.crew else Crew.objects.all()
        other = others.filter(name__iexact=name).first()
        if other is None:
            return
        if self.crew or self.errors or not crew_stands(other, self.facts()):
            self.add_error("name", "Another crew has this name: choose another one.")

    def facts(self) -> CrewFacts:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        names = ("name", "lead", "people", "skills", "week", "saturdays", "saturday_price")
        facts = {name: told[name] for name in names}
        return CrewFacts(**facts, language=told["language"] or "en")

    def _skill(self, name: str, text: str, people: Sequence[str], skills: dict[str, Able]) -> None:
        if not text:
            return
        skill, known = name.removeprefix("skill_"), {one.casefold(): one for one in people}
        names = [known.get(part.strip().casefold()) for part in text.split(",")]
        if text.casefold() == "all":
            skills[skill] = None
        elif text.isdecimal() and len(text) <= DIGITS and 1 <= int(text) <= max(len(people), 1):
            skills[skill] = int(text)
        elif all(names):
            skills[skill] = tuple(dict.fromkeys(one for one in names if one))
        else:
            self.add_error(
                name,
                f"Write how many of the {len(people)} can do it, or all, or who they are by name with "
                "commas between; empty for nobody.",
            )


def _told(crew: Crew) -> dict[str, Any]:
    words = {mask: word for word, mask in HALF_DAYS.items()}
    told: dict[str, Any] = {
        "name": crew.name,
        "lead": crew.lead_id,
        "language": crew.language,
        "people": "\n".join(crew.members.values_list("name", flat=True)),
        "saturdays": crew.saturdays,
        "saturday_price": crew.saturday_price,
    }
    for row in crew.skills.all():
        all_of_them = "all" if row.people is None else str(row.people)
        told[f"skill_{row.skill}"] = ", ".join(row.names) or all_of_them
    for day, mask in zip(WEEKDAYS, crew.week.masks, strict=True):
        told[f"day_{day}"] = words.get(mask, "all day")
    return told


class MachineForm(forms.Form):
    """A machine: name, kind, how many are with us, how wide, rented or not, and on what terms."""

    name = forms.CharField(max_length=60)
    kind = forms.ChoiceField()
    count = forms.IntegerField(min_value=1, max_value=20, initial=1, label="How many")
    width = LengthField(help_text="like 36 in; empty: the usual of its kind")
    rented = forms.BooleanField(required=False, label="Rented")
    day_price = forms.DecimalField(
        required=False, min_value=0, max_digits=8, decimal_places=2,
        label="Rent a day", help_text="dollars; may be empty",
    )  # fmt: skip
    least_days = forms.IntegerField(
        min_value=1, max_value=90, initial=1, label="Least days paid", help_text="each time"
    )
    lead_days = forms.IntegerField(
        min_value=0, max_value=60, initial=2, label="Order it", help_text="working days ahead"
    )

    def __init__(
        self, *args: Any, today: date, machine: Machine | None = None, **kwargs: Any
    ) -> None:
        self.machine = machine
        self.gone = machine.count - machine.units_on(today) if machine else 0
        if machine is not None:
            kwargs.setdefault(
                "initial",
                {
                    "name": machine.name,
                    "kind": machine.kind,
                    "count": machine.count - self.gone,
                    "width": yardstick().typed(machine.width) if machine.width else "",
                    "rented": machine.rented,
                    "day_price": machine.day_price,
                    "least_days": machine.least_days,
                    "lead_days": machine.lead_days,
                },
            )
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        kinds = [kind for kind in current_library().machines.values() if kind.counted]
        offer(self, "kind", [(kind.key, kind.name) for kind in kinds])

    def clean_count(self) -> int:
        """Return how many there were in all: units that are gone keep their days."""
        count: int = self.cleaned_data["count"]
        return count + self.gone

    def clean(self) -> dict[str, Any]:
        """Refuse a name another machine has, except from a form sent again: that one made it."""
        told = super().clean() or {}
        mine = self.machine
        others = Machine.objects.exclude(pk=mine.pk) if mine else Machine.objects.all()
        other = others.filter(name__iexact=told.get("name", "")).first()
        if other is not None and (mine or self.errors or not machine_stands(other, told)):
            self.add_error("name", "Another machine has this name: choose another one.")
        return told
