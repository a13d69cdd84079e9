"""The form of the first visit: company, week, holidays, crews, machines, a yard to begin with."""

from __future__ import annotations

from typing import Any

from django import forms

from crews.services.setup import HALF_DAYS, WEEKDAYS
from jobs.services.company.first_visit import CREWS, MACHINES, FirstFacts
from jobs.services.company.holidays import ALL, NONE, USUAL
from jobs.services.company.states import CHOICES, ZONES

HOLIDAYS = (
    (USUAL, "the six most crews keep"),
    (ALL, "all that the state keeps"),
    (NONE, "none"),
)
BEGIN = (("sample", "a sample yard to look round in"), ("blank", "a blank sheet"))


class FirstVisitForm(forms.Form):
    """Everything has a usual answer but the name."""

    name = forms.CharField(max_length=120, label="Company")
    state = forms.ChoiceField(choices=CHOICES)
    zone = forms.ChoiceField(label="Time zone", choices=ZONES)
    holidays = forms.ChoiceField(label="Holidays", choices=HOLIDAYS, initial=USUAL)
    crews = forms.MultipleChoiceField(
        required=False,
        choices=[(crew.key, crew.name) for crew in CREWS],
        initial=[crew.key for crew in CREWS],
        widget=forms.CheckboxSelectMultiple,
    )
    machines = forms.MultipleChoiceField(
        required=False,
        choices=[(machine.key, machine.name) for machine in MACHINES],
        initial=[machine.key for machine in MACHINES],
        widget=forms.CheckboxSelectMultiple,
    )
    begin = forms.ChoiceField(
        label="Begin with", choices=BEGIN, initial="sample", widget=forms.RadioSelect
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="")
        for day in WEEKDAYS:
            self.fields[f"day_{day}"] = forms.ChoiceField(
                label=day.capitalize(),
                choices=[(word, word) for word in HALF_DAYS],
                initial="off" if day in WEEKDAYS[5:] else "all day",
            )

    def clean_name(self) -> str:
        """Refuse a name that is only blanks."""
        return " ".join(self.cleaned_data["name"].split())

    def clean(self) -> dict[str, Any]:
        """Refuse a week in which nobody works."""
        told = super().clean() or {}
        if all(told.get(f"day_{day}", "off") == "off" for day in WEEKDAYS) and not self.errors:
            self.add_error("day_monday", "Nobody works on any day: open at least one.")
        return told

    @property
    def place_fields(self) -> list[forms.BoundField]:
        """The fields of the company itself."""
        return [self[name] for name in ("name", "state", "zone")]

    @property
    def day_fields(self) -> list[forms.BoundField]:
        """The fields of weekdays."""
        return [self[f"day_{day}"] for day in WEEKDAYS]

    def facts(self) -> FirstFacts:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        return FirstFacts(
            name=told["name"],
            zone=told["zone"],
            state=told["state"],
            week=tuple(HALF_DAYS[told[f"day_{day}"]] for day in WEEKDAYS),
            holidays=told["holidays"],
            crews=told["crews"],
            machines=told["machines"],
            sample=told["begin"] == "sample",
        )
