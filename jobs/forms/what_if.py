"""Forms of "what if": one a kind of change. Cleaning only."""

from __future__ import annotations

from abc import abstractmethod
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django import forms

from crews.models import Crew, Machine
from jobs.models import Job
from jobs.services.numbers.library_words import machine_name
from jobs.services.planning.what_if_worlds import WEEKDAYS, Change, Question

from .fields import AbstractForm, day_field

if TYPE_CHECKING:
    from collections.abc import Mapping

LONGEST = 365
MOST_PEOPLE = 3
PEOPLE = [(n, f"{n} more") for n in range(1, MOST_PEOPLE + 1)]
PEOPLE += [(-n, f"{n} fewer") for n in range(1, MOST_PEOPLE + 1)]


class ChangeForm(forms.Form, metaclass=AbstractForm):
    """What every kind of change has: something it is about."""

    change: Change
    title: str

    def __init__(self, today: date, data: Mapping[str, Any] | None = None) -> None:
        asked = data is not None and data.get("change") == self.change.value
        super().__init__(
            data if asked else None, label_suffix="", auto_id=f"{self.change.value}-%s"
        )
        self.today = today
        choices = self.subjects()
        field = self.fields.get("subject")
        if isinstance(field, forms.ChoiceField):
            field.choices = choices
        self.empty = not choices

    @abstractmethod
    def subjects(self) -> list[tuple[str, str]]:
        """Return what it may be about."""

    def question(self) -> Question:
        """Return what was asked, once it is clean."""
        told = self.cleaned_data
        return Question(
            self.change,
            told.get("subject", ""),
            told.get("first"),
            told.get("last"),
            tuple(int(day) for day in told.get("weekdays", ())),
            int(told.get("by") or 1),
        )


class SpanForm(ChangeForm):
    """A change for a span of days."""

    first = day_field(label="From")
    last = day_field(label="To")

    def __init__(self, today: date, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(today, data)
        first = today + timedelta(days=7 - today.weekday())
        self.initial = {"first": first, "last": first + timedelta(days=25)}

    def clean(self) -> dict[str, Any]:
        """Refuse a span that is over, the wrong way round, or too long."""
        told = super().clean() or {}
        first, last = told.get("first"), told.get("last")
        if first and last and last < first:
            self.add_error("last", "This lies before the first day: swap the two.")
        elif last and last < self.today:
            self.add_error("last", "This is over: take days to come.")
        elif first and last and (last - first).days > LONGEST:
            self.add_error("last", "Take a year at the most.")
        return told


class CrewForm(SpanForm):
    """One more crew on some weekdays."""

    change, title = Change.CREW, "One more crew"
    subject = forms.ChoiceField(label="like")
    weekdays = forms.MultipleChoiceField(
        label="on", required=False, help_text="none: every day it works",
        choices=list(enumerate(WEEKDAYS)), widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip

    field_order = ("subject", "first", "last", "weekdays")

    def subjects(self) -> list[tuple[str, str]]:
        """Every crew."""
        return crews()


class MachineForm(SpanForm):
    """One more machine of a kind."""

    change, title = Change.MACHINE, "One more machine"
    subject = forms.ChoiceField(label="of the kind")
    field_order = ("subject", "first", "last")

    def subjects(self) -> list[tuple[str, str]]:
        """Every kind there is one of: others are taken to be hired when they are needed."""
        kinds = Machine.objects.filter(active=True).values_list("kind", flat=True).distinct()
        return sorted((kind, machine_name(kind)) for kind in kinds)


class SaturdaysForm(SpanForm):
    """Saturdays worked."""

    change, title = Change.SATURDAYS, "Saturdays"
    subject = forms.ChoiceField(label="for", required=False)
    field_order = ("subject", "first", "last")

    def subjects(self) -> list[tuple[str, str]]:
        """Every crew, or one."""
        return [("", "every crew"), *crews()]


class StartForm(ChangeForm):
    """A job moved up, or put off."""

    change, title = Change.START, "Begin a job sooner"
    subject = forms.ChoiceField(label="Job")
    first = day_field(label="From")

    def subjects(self) -> list[tuple[str, str]]:
        """Every open job."""
        return list(Job.objects.filter(state__in=Job.OPEN).values_list("slug", "name"))


class BidForm(ChangeForm):
    """A bid won."""

    change, title = Change.BID, "A bid is won"
    subject = forms.ChoiceField(label="Bid")

    def subjects(self) -> list[tuple[str, str]]:
        """Every bid."""
        return list(Job.objects.filter(state=Job.State.BID).values_list("slug", "name"))


class PeopleForm(ChangeForm):
    """People more or fewer."""

    change, title = Change.PEOPLE, "More or fewer people"
    subject = forms.ChoiceField(label="in")
    by = forms.TypedChoiceField(label="how many", choices=PEOPLE, coerce=int)

    def subjects(self) -> list[tuple[str, str]]:
        """Every crew."""
        return crews()


FORMS: tuple[type[ChangeForm], ...] = (
    CrewForm,
    MachineForm,
    SaturdaysForm,
    StartForm,
    BidForm,
    PeopleForm,
)


def crews() -> list[tuple[str, str]]:
    """Every active crew."""
    return list(Crew.objects.filter(active=True).values_list("slug", "name"))


def what_if_forms(today: date, data: Mapping[str, Any] | None = None) -> list[ChangeForm]:
    """Return a form a kind of change; the one that was asked is bound."""
    return [form(today, data) for form in FORMS]
