"""Forms of who and what is away: days off, and people lent to another crew. Cleaning only, no saving."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django import forms

from crews.models import Crew, CrewMember, Loan, Machine

from .fields import day_field, offer

if TYPE_CHECKING:
    from datetime import date

    _OneMember = forms.ModelChoiceField[CrewMember]
else:
    _OneMember = forms.ModelChoiceField

LONGEST_OFF = timedelta(days=731)
LONGEST_LOAN = timedelta(days=366)


class DaysOffForm(forms.Form):
    """Days off for everybody, a crew, one of its people, or a machine."""

    who = forms.ChoiceField()
    first = day_field(label="From")
    last = day_field(label="To", required=False, help_text="empty: one day")
    why = forms.CharField(required=False, max_length=120)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        crews = [(f"crew {c.pk}", c.name) for c in Crew.objects.filter(active=True)]
        members = CrewMember.objects.filter(crew__active=True).select_related("crew")
        people = [(f"member {m.pk}", f"{m.name}, {m.crew.name}") for m in members]
        machines = [(f"machine {m.pk}", m.name) for m in Machine.objects.filter(active=True)]
        offer(self, "who", [("everybody", "everybody"), *crews, *people, *machines])

    def clean(self) -> dict[str, Any]:
        """Turn one day round, and name whom it is about."""
        told = super().clean() or {}
        first, last = told.get("first"), told.get("last") or told.get("first")
        if first and last and last < first:
            self.add_error("last", "This lies before the first day: swap the two.")
        elif first and last and last - first > LONGEST_OFF:
            self.add_error("last", "More than two years: look at the year.")
        told["last"] = last
        kind, _, pk = str(told.get("who", "")).partition(" ")
        told["subject"] = {kind: int(pk)} if pk else {}
        return told


class _MemberField(_OneMember):
    """Names tell people apart only with their crew."""

    def label_from_instance(self, obj: CrewMember) -> str:
        """Return name and crew."""
        return f"{obj.name}, {obj.crew.name}"


class LoanForm(forms.Form):
    """Somebody works with another crew for some days."""

    who = _MemberField(CrewMember.objects.none(), empty_label="choose one")
    crew = forms.ModelChoiceField(
        Crew.objects.filter(active=True), label="Works with", empty_label="choose one"
    )
    first = day_field(label="From")
    last = day_field(label="To", required=False, help_text="empty: one day")

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", "prefix": "loan", **kwargs})
        self.today = today
        field = self.fields["who"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 (declared above)
        field.queryset = CrewMember.objects.filter(crew__active=True).select_related("crew")

    def clean(self) -> dict[str, Any]:
        """Days in order and in sight, to a crew not his own, and not lent twice at once."""
        told = super().clean() or {}
        first, last = told.get("first"), told.get("last") or told.get("first")
        told["last"] = last
        who, crew = told.get("who"), told.get("crew")
        if first and last and last < first:
            self.add_error("last", "This lies before the first day: swap the two.")
        elif last and last < self.today:
            self.add_error("last", "These days are over.")
        elif first and last and last - first > LONGEST_LOAN:
            self.add_error("last", "More than a year: move the name from one crew to the other.")
        if who and crew and who.crew_id == crew.pk:
            self.add_error("crew", f"{who.name} is in this crew already: choose another one.")
        elif who and first and last and _lent(who, first, last):
            self.add_error("who", f"{who.name} is lent on some of these days already.")
        return told


def _lent(who: CrewMember, first: date, last: date) -> bool:
    return Loan.objects.filter(member=who, first__lte=last, last__gte=first).exists()
