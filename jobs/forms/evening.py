"""The form of the hour of the evening summary. Cleaning only, no saving."""

from __future__ import annotations

from datetime import time
from typing import Any

from django import forms

SOONEST = time(12, 0)


class EveningForm(forms.Form):
    """When the summary of tomorrow goes out."""

    at = forms.TimeField(
        required=False,
        label="Goes out by itself at",
        help_text="empty: never",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})

    def clean_at(self) -> time | None:
        """In the morning nobody knows tomorrow."""
        at: time | None = self.cleaned_data["at"]
        if at is None:
            return None
        if at < SOONEST:
            raise forms.ValidationError("Say an hour after noon: in the morning tomorrow is far.")
        return at.replace(second=0, microsecond=0)
