"""Forms of where a yard's climate comes from: a place, or a station's daily record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from .fields import offer

if TYPE_CHECKING:
    from collections.abc import Sequence

LARGEST = 6 * 1024 * 1024
"""Bytes; a hundred and fifty years of days have about two million."""


class PlaceForm(forms.Form):
    """The place whose tables hold for a yard."""

    station = forms.ChoiceField(required=False, label="Climate of")

    def __init__(self, places: Sequence[tuple[str, str]], data: Any = None, now: str = "") -> None:
        super().__init__(data, initial={"station": now}, label_suffix="")
        offer(self, "station", [("", "the nearest place"), *places])


class RecordForm(forms.Form):
    """A station's own daily record, as a file."""

    file = forms.FileField(
        label="Daily record",
        help_text=".csv with the columns date, precip_mm and, where known, tmax_c, tmin_c; five years or more",
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv"}),
    )

    def __init__(self, data: Any = None, files: Any = None) -> None:
        super().__init__(data, files, label_suffix="")

    def clean_file(self) -> tuple[str, bytes]:
        """Read it, bounded."""
        file = self.cleaned_data["file"]
        if (file.size or 0) > LARGEST:
            raise forms.ValidationError(
                "This is more than 6 MB: leave out all columns but the four."
            )
        return str(file.name), file.read()
