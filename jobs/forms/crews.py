"""Forms of crews, machines and days off. Cleaning only, no saving."""

from __future__ import annotations

from typing import Any

from django import forms

from crews.models import Crew, CrewMember, Machine, Person
from crews.services.setup import HALF_DAYS, WEEKDAYS, CrewFacts
from jobs.services.library import current_library
from jobs.trade.errors import TradeError
from jobs.trade.units import parse_length, say_length

MOST_PEOPLE = 40


def known_skills() -> list[str]:
    """Return every skill a crew of ours may have, in alphabetical order."""
    crews = current_library().crews.values()
    return sorted({crew.skill for crew in crews if not crew.outside})


class CrewForm(forms.Form):
    """A crew: name, lead, people, skills, working week."""

    name = forms.CharField(max_length=60)
    lead = forms.ModelChoiceField(Person.objects.all(), required=False, empty_label="nobody yet")
    people = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 5}), help_text="one name a line", max_length=4000
    )

    def __init__(self, *args: Any, crew: Crew | None = None, **kwargs: Any) -> None:
        self.crew = crew
        if crew is not None:
            kwargs.setdefault("initial", _told(crew))
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        for skill in known_skills():
            self.fields[f"skill_{skill}"] = forms.CharField(
                label=skill, required=False, max_length=4, help_text="people"
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

    def clean_name(self) -> str:
        """Refuse a name another crew has."""
        name: str = self.cleaned_data["name"].strip()
        others = Crew.objects.exclude(pk=self.crew.pk) if self.crew else Crew.objects.all()
        if others.filter(name__iexact=name).exists():
            raise forms.ValidationError("Another crew has this name: choose another one.")
        return name

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
        skills: dict[str, int | None] = {}
        for name in [n for n in self.fields if n.startswith("skill_")]:
            self._skill(name, str(told.get(name, "")).strip(), len(people), skills)
        if not skills and not self.errors:
            self.add_error(None, "Say at least one thing this crew can do.")
        told["skills"] = skills
        told["week"] = tuple(HALF_DAYS[str(told.get(f"day_{day}", "off"))] for day in WEEKDAYS)
        return told

    def facts(self) -> CrewFacts:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        return CrewFacts(told["name"], told["lead"], told["people"], told["skills"], told["week"])

    def _skill(self, name: str, text: str, people: int, skills: dict[str, int | None]) -> None:
        if not text:
            return
        skill = name.removeprefix("skill_")
        if text.casefold() == "all":
            skills[skill] = None
        elif text.isdigit() and 1 <= int(text) <= max(people, 1):
            skills[skill] = int(text)
        else:
            self.add_error(
                name, f"Write how many of the {people} can do it, or all; empty for nobody."
            )


def _told(crew: Crew) -> dict[str, Any]:
    words = {mask: word for word, mask in HALF_DAYS.items()}
    told: dict[str, Any] = {
        "name": crew.name,
        "lead": crew.lead_id,
        "people": "\n".join(crew.members.values_list("name", flat=True)),
    }
    for row in crew.skills.all():
        told[f"skill_{row.skill}"] = "all" if row.people is None else str(row.people)
    for day, mask in zip(WEEKDAYS, crew.week.masks, strict=True):
        told[f"day_{day}"] = words.get(mask, "all day")
    return told


class MachineForm(forms.Form):
    """A machine: name, kind, how many, how wide, rented or not."""

    name = forms.CharField(max_length=60)
    kind = forms.ChoiceField()
    count = forms.IntegerField(min_value=1, max_value=20, initial=1, label="How many")
    width = forms.CharField(
        required=False, max_length=20, help_text="like 36 in; empty: the usual of its kind"
    )
    rented = forms.BooleanField(required=False, label="Rented")

    def __init__(self, *args: Any, machine: Machine | None = None, **kwargs: Any) -> None:
        self.machine = machine
        if machine is not None:
            kwargs.setdefault(
                "initial",
                {
                    "name": machine.name,
                    "kind": machine.kind,
                    "count": machine.count,
                    "width": say_length(machine.width) if machine.width else "",
                    "rented": machine.rented,
                },
            )
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        kinds = [kind for kind in current_library().machines.values() if kind.counted]
        field = self.fields["kind"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 (declared above)
        field.choices = [(kind.key, kind.name) for kind in kinds]

    def clean_name(self) -> str:
        """Refuse a name another machine has."""
        name: str = self.cleaned_data["name"].strip()
        mine = self.machine
        others = Machine.objects.exclude(pk=mine.pk) if mine else Machine.objects.all()
        if others.filter(name__iexact=name).exists():
            raise forms.ValidationError("Another machine has this name: choose another one.")
        return name

    def clean_width(self) -> int | None:
        """Read the width in feet, inches or metric."""
        told = self.cleaned_data["width"].strip()
        if not told:
            return None
        try:
            return parse_length(told)
        except TradeError as error:
            raise forms.ValidationError(f"{error.reason}: {error.remedy}.") from None


class DaysOffForm(forms.Form):
    """Days off for everybody, a crew, one of its people, or a machine."""

    who = forms.ChoiceField()
    first = forms.DateField(
        label="From", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    last = forms.DateField(
        label="To",
        required=False,
        help_text="empty: one day",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    why = forms.CharField(required=False, max_length=120)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        crews = [(f"crew {c.pk}", c.name) for c in Crew.objects.filter(active=True)]
        members = CrewMember.objects.filter(crew__active=True).select_related("crew")
        people = [(f"member {m.pk}", f"{m.name}, {m.crew.name}") for m in members]
        machines = [(f"machine {m.pk}", m.name) for m in Machine.objects.filter(active=True)]
        field = self.fields["who"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 (declared above)
        field.choices = [("everybody", "everybody"), *crews, *people, *machines]

    def clean(self) -> dict[str, Any]:
        """Turn one day round, and name whom it is about."""
        told = super().clean() or {}
        first, last = told.get("first"), told.get("last") or told.get("first")
        if first and last and last < first:
            self.add_error("last", "This lies before the first day: swap the two.")
        told["last"] = last
        kind, _, pk = str(told.get("who", "")).partition(" ")
        told["subject"] = {kind: int(pk)} if pk else {}
        return told
