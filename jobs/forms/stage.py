"""The form of where a job stands. Cleaning only, no saving."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django import forms

from jobs.models import Job
from jobs.services.company.stage import Stage

from .fields import day_field

if TYPE_CHECKING:
    from collections.abc import Mapping

LONGEST_PAUSE = timedelta(days=3 * 365)


class StageForm(forms.Form):
    """One of seven states, and the days of a pause."""

    state = forms.ChoiceField(
        label="Where it stands", choices=Job.State.choices, widget=forms.RadioSelect
    )
    paused_from = day_field(required=False, label="Paused from", help_text="empty: from today")
    paused_until = day_field(required=False, label="Goes on from")

    def __init__(self, job: Job, data: Mapping[str, Any] | None, *, today: date) -> None:
        fields = ("state", "paused_from", "paused_until")
        initial = {name: getattr(job, name) for name in fields}
        super().__init__(data, label_suffix="", initial=initial)
        self.today = today

    def clean(self) -> dict[str, Any]:
        """A pause has an end; what is not paused has no pause."""
        told = super().clean() or {}
        if told.get("state") != Job.State.PAUSED:
            told["paused_from"] = told["paused_until"] = None
            return told
        start, end = told.get("paused_from") or self.today, told.get("paused_until")
        told["paused_from"] = start
        if "paused_until" in self.errors:
            return told
        if not end:
            self.add_error("paused_until", "Say when it goes on; change it when you know more.")
        elif end <= start:
            self.add_error("paused_until", "This is not after the pause begins.")
        elif end > self.today + LONGEST_PAUSE:
            self.add_error("paused_until", "This is more than three years away.")
        elif start < self.today - LONGEST_PAUSE:
            self.add_error("paused_from", "This is more than three years ago: look at the year.")
        return told

    def rows(self, follows: Mapping[str, str]) -> list[tuple[forms.boundfield.BoundWidget, str]]:
        """Return the button of each state with what follows from it."""
        return [(one, follows[str(one.data["value"])]) for one in self["state"].subwidgets]

    def stage(self) -> Stage:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        return Stage(told["state"], told["paused_from"], told["paused_until"])
