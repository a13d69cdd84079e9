"""Form of a crew or a machine that is no longer with us. Cleaning only, no saving."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django import forms

from crews.models import Machine
from jobs.services.pages.leaving import last_worked
from jobs.services.telling.speech import say_date

from .fields import day_field

if TYPE_CHECKING:
    from datetime import date

    from crews.models import Crew

FARTHEST = timedelta(days=3 * 366)


class LeavingForm(forms.Form):
    """From which day on; of a machine of which there are several, how many of them."""

    since = day_field(label="From", help_text="the first day without it")
    units = forms.IntegerField(label="How many of them", min_value=1, initial=1)

    def __init__(self, *args: Any, gone: Crew | Machine, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", "prefix": "gone", **kwargs})
        self.gone, self.today = gone, today
        self.left = gone.count - sum(n for _, n in gone.gone) if isinstance(gone, Machine) else 1
        if self.left <= 1:
            del self.fields["units"]

    def clean_since(self) -> date:
        """Refuse a day in the far past or future, and one on which the crew is known to have worked."""
        day: date = self.cleaned_data["since"]
        if abs(day - self.today) > FARTHEST:
            raise forms.ValidationError("More than three years away: look at the year.")
        worked = None if isinstance(self.gone, Machine) else last_worked(self.gone)
        if worked is not None and day <= worked:
            raise forms.ValidationError(
                f"It is logged to have worked on {say_date(worked)}: choose a day after that."
            )
        return day

    def clean_units(self) -> int:
        """Refuse more than there are."""
        units: int = self.cleaned_data["units"]
        if units > self.left:
            raise forms.ValidationError(f"At most {self.left}: that is how many there are.")
        return units

    def clean(self) -> dict[str, Any]:
        """Refuse who is gone already."""
        told = super().clean() or {}
        if self.gone.gone_from is not None:
            self.add_error(None, "It is gone already: take that back first to say another day.")
        return told | {"units": told.get("units", 1)}
