"""A job file as somebody hands it in: bounded, and text."""

from __future__ import annotations

from typing import Any

from django import forms

LARGEST = 256 * 1024
"""Bytes; the largest yard we ever wrote has 12,000."""


class UploadForm(forms.Form):
    """One file, and whether it may take the place of a job of the same name."""

    file = forms.FileField(
        label="Job file", help_text=".toml", widget=forms.FileInput(attrs={"accept": ".toml"})
    )
    replace = forms.BooleanField(
        required=False, label="Replace the job of this name, if it was never published"
    )

    def __init__(self, data: Any = None, files: Any = None) -> None:
        super().__init__(data, files, label_suffix="")

    def clean_file(self) -> str:
        """Read it as text."""
        file = self.cleaned_data["file"]
        if (file.size or 0) > LARGEST:
            raise forms.ValidationError("This is more than 256 kB: no yard is that large.")
        try:
            return str(file.read().decode("utf-8-sig"))
        except UnicodeDecodeError:
            raise forms.ValidationError(
                "This is not text: choose the .toml file, not a picture or a table."
            ) from None
