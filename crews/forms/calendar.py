"""The form that asks for a new calendar link."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.db.models import Q

from crews.models import Crew, Machine, Person

if TYPE_CHECKING:
    from collections.abc import Iterable

Choice = tuple[str, str]


def subject_choices() -> list[Choice | tuple[str, list[Choice]]]:
    """Return every calendar there can be, in groups."""
    crews = Crew.objects.filter(active=True).values_list("slug", "name")
    machines = Machine.objects.filter(active=True).values_list("slug", "name")
    crewed = Q(memberships__isnull=False) | Q(leads__isnull=False)
    people = Person.objects.filter(crewed, is_active=True)
    named = people.order_by("name").distinct().values_list("pk", "name")
    return [
        ("all", "Everything that every crew does"),
        ("Crews", _named("crew", crews)),
        ("Machines", _named("machine", machines)),
        ("People", _named("person", named)),
    ]


def _named(kind: str, rows: Iterable[tuple[object, str]]) -> list[Choice]:
    return [(f"{kind}:{key}", name) for key, name in rows]


class CalendarForm(forms.Form):
    """Whose calendar, and who is going to hold the link."""

    subject = forms.ChoiceField(label="Calendar of")
    person = forms.CharField(
        label="For whom",
        max_length=120,
        help_text="Who gets this link. One link per person, so that one can be turned off alone.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Look up once who has a calendar."""
        super().__init__(*args, **kwargs)
        self.fields["subject"] = forms.ChoiceField(label="Calendar of", choices=subject_choices())


class CrewPhoneForm(forms.Form):
    """Whose phone is to open which crew's page."""

    prefix = "crew-phone"
    crew = forms.ModelChoiceField(Crew.objects.filter(active=True), empty_label=None)
    person = forms.CharField(
        label="Whose phone",
        max_length=120,
        help_text="What is said on it is kept in this name.",
    )
