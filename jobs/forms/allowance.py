"""Days a month that a contract expects the weather to take. Cleaning only; nothing of it is kept."""

from __future__ import annotations

import re

from django import forms

MONTHS, MOST = 12, 31
WRONG = "Give twelve whole numbers, January to December, like 7 7 4 3 1 1 0 0 0 2 2 2."


class AllowanceForm(forms.Form):
    """Twelve whole numbers, January first."""

    allowed = forms.CharField(
        max_length=60,
        label="Days the contract lets the weather take",
        help_text="January to December",
    )

    def __init__(self, data: object) -> None:
        super().__init__(data, label_suffix="")  # type: ignore[arg-type] # a QueryDict or nothing

    def clean_allowed(self) -> tuple[int, ...]:
        """Read them, however they are parted."""
        told = re.split(r"[\s,;]+", self.cleaned_data["allowed"])
        if len(told) != MONTHS or not all(one.isdecimal() and int(one) <= MOST for one in told):
            raise forms.ValidationError(WRONG)
        return tuple(map(int, told))
