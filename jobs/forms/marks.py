"""Form of a call for utility marks that was made. Cleaning only, no saving."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django import forms

from .fields import day_field

if TYPE_CHECKING:
    from datetime import date

OLDEST = timedelta(days=60)


class MarksForm(forms.Form):
    """On which day the notice center was called, and the number it gave."""

    sent_on = day_field(label="Called on")
    reference = forms.CharField(
        max_length=60,
        required=False,
        label="Ticket number",
        help_text="as the notice center gave it; may be empty",
    )

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.today = today

    def clean_sent_on(self) -> date:
        """A call that was made lies behind us, and not so far that its marks have long run out."""
        day: date = self.cleaned_data["sent_on"]
        if day > self.today:
            raise forms.ValidationError("That day is still to come: say it once you have called.")
        if day < self.today - OLDEST:
            raise forms.ValidationError("That is months ago: such marks have run out. Call again.")
        return day
