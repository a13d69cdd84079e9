"""Forms of the company's settings. Cleaning only, no saving."""

from __future__ import annotations

import calendar
from datetime import time
from typing import TYPE_CHECKING, Any

from django import forms

from crews.models import Crew, DayHours
from crews.models.week import EVERY_DAY
from crews.services.setup import WEEKDAYS
from jobs.models import Company
from jobs.services.company.company import CompanyFacts, HoursFacts, usual_hours
from jobs.services.company.holidays import ALL, USUAL
from jobs.services.company.states import CHOICES, zones_with
from jobs.services.telling.words import MONTHS

from .fields import offer

if TYPE_CHECKING:
    from collections.abc import Mapping

SOONEST, LATEST, LONGEST_LUNCH = time(4, 0), time(11, 0), 120
MOST_FINDING = 60
"""A quarter of a year of working days."""
LEAP_YEAR = 2024
MONTH_CHOICES = [("", "all the year"), *((n, month) for n, month in enumerate(MONTHS["en"], 1))]


def _time_field(**kwargs: Any) -> forms.TimeField:
    return forms.TimeField(widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"), **kwargs)


def _lunch_field() -> forms.IntegerField:
    return forms.IntegerField(
        min_value=0,
        max_value=LONGEST_LUNCH,
        initial=30,
        help_text="minutes, in the middle of the day",
    )


class _HasStart(forms.Form):
    """What has a beginning of the day."""

    def clean_starts(self) -> time:
        """Refuse a day that begins at night or at noon."""
        starts: time = self.cleaned_data["starts"]
        if not SOONEST <= starts <= LATEST:
            raise forms.ValidationError("A day begins between 4:00 and 11:00 in the morning.")
        return starts.replace(second=0, microsecond=0)


class CompanyForm(_HasStart):
    """Name, place, units and the hours of most days."""

    name = forms.CharField(max_length=120, label="Company")
    state = forms.ChoiceField(choices=CHOICES)
    zone = forms.ChoiceField(label="Time zone", help_text="jobs keep their own")
    phone = forms.CharField(max_length=40, required=False)
    units = forms.ChoiceField(label="Lengths and amounts in", choices=Company.Units.choices)
    starts = _time_field(label="The day begins")
    lunch = _lunch_field()
    finding_days = forms.IntegerField(
        min_value=0,
        max_value=MOST_FINDING,
        label="Finding somebody takes",
        help_text="working days, for work that no crew can do",
    )

    def __init__(self, company: Company, data: Mapping[str, Any] | None = None) -> None:
        usual = usual_hours() or DayHours()
        fields = ("name", "state", "zone", "phone", "units", "finding_days")
        initial = {name: getattr(company, name) for name in fields}
        initial |= {"starts": usual.starts, "lunch": usual.lunch}
        super().__init__(data, label_suffix="", initial=initial)
        offer(self, "zone", zones_with(company.zone))

    def clean_name(self) -> str:
        """Refuse a name that is only blanks."""
        return " ".join(self.cleaned_data["name"].split())

    def facts(self) -> CompanyFacts:
        """Return what was told, once it is clean."""
        return CompanyFacts(**self.cleaned_data)


class HoursForm(_HasStart):
    """A season with its own hours, for everybody or one crew, on some weekdays."""

    crew = forms.ModelChoiceField(
        Crew.objects.filter(active=True), required=False, empty_label="everybody", label="Whose day"
    )
    first_month = forms.TypedChoiceField(
        label="From", choices=MONTH_CHOICES, coerce=int, required=False, empty_value=None
    )
    first_day = forms.IntegerField(label="day", min_value=1, max_value=31, required=False)
    last_month = forms.TypedChoiceField(
        label="To", choices=MONTH_CHOICES, coerce=int, required=False, empty_value=None
    )
    last_day = forms.IntegerField(label="day", min_value=1, max_value=31, required=False)
    weekdays = forms.TypedMultipleChoiceField(
        choices=[(n, day.capitalize()) for n, day in enumerate(WEEKDAYS)],
        coerce=int, required=False, help_text="none ticked: every day",
        widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    starts = _time_field(label="The day begins")
    lunch = _lunch_field()

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, label_suffix="", prefix="hours")

    def clean(self) -> dict[str, Any]:
        """A season has two days that there are."""
        told = super().clean() or {}
        for end in ("first", "last"):
            self._day(told, end)
        if (told.get("first") is None) is not (told.get("last") is None) and not self.errors:
            self.add_error("last_month", "A season has a first and a last day: give both.")
        return told

    def _day(self, told: dict[str, Any], end: str) -> None:
        month = told.get(f"{end}_month")
        if month is None:
            return
        most = calendar.monthrange(LEAP_YEAR, month)[1]
        usual = 1 if end == "first" else most
        day = told.get(f"{end}_day") or usual
        if day > most:
            self.add_error(f"{end}_day", f"{MONTHS['en'][month - 1]} has {most} days.")
        told[end] = (month, day)

    def facts(self) -> HoursFacts:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        days = sum(1 << day for day in told["weekdays"]) or EVERY_DAY
        return HoursFacts(
            told["crew"], told.get("first"), told.get("last"), days, told["starts"], told["lunch"]
        )


class HolidaysForm(forms.Form):
    """Which holidays of the state to close."""

    holidays = forms.ChoiceField(
        choices=((USUAL, "the six most crews keep"), (ALL, "all that the state keeps"))
    )
