"""Form that asks whether a job is to be deleted or forgotten indeed."""

from __future__ import annotations

from typing import Any

from django import forms


class ForgetForm(forms.Form):
    """The job's name typed once more: nothing brings it back."""

    sure = forms.CharField(max_length=120, label="Type the job's name to say that you mean it")

    def __init__(self, *args: Any, name: str, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.name = name
        self.fields["sure"].widget.attrs["autocomplete"] = "off"

    def clean_sure(self) -> str:
        """Refuse another name."""
        told: str = self.cleaned_data["sure"].strip()
        if told.casefold() != self.name.casefold():
            raise forms.ValidationError(f"Type {self.name}, as it stands above.")
        return told
