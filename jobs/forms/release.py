"""The form of an engineer's release: what it allows, from when, who signed it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from django import forms

from jobs.models import Release
from jobs.services.scope.releases import HOURS_A_DAY, ReleaseTold, say_hours
from jobs.trade.releases import LONGEST_HOURS

from .fields import day_field

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

HOURS, DAYS = "hours", "days"
LEAST_LETTERS = 3
OLDEST_YEARS = 2


class ReleaseForm(forms.Form):
    """One release of one pour, as the engineer's letter says it."""

    allows = forms.ChoiceField(choices=Release.Allows.choices, label="It is allowed to")
    amount = forms.IntegerField(min_value=1, max_value=LONGEST_HOURS, label="from so many")
    unit = forms.ChoiceField(
        choices=[(HOURS, "hours after the pour"), (DAYS, "days after the pour")], label="counted in"
    )
    engineer = forms.CharField(max_length=120, label="Engineer's name")
    licence = forms.CharField(
        max_length=60, label="License", help_text="state and number, as on the letter"
    )
    signed_on = day_field(label="Signed on")
    note = forms.CharField(
        max_length=200,
        required=False,
        help_text="what it rests on; may be empty",
    )

    def __init__(self, today: date, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, label_suffix="")
        self.today = today

    def clean_engineer(self) -> str:
        """A person's name has letters."""
        told = " ".join(str(self.cleaned_data["engineer"]).split())
        if len(re.findall(r"[^\W\d_]", told)) < LEAST_LETTERS:
            raise forms.ValidationError("Give the engineer's name in full: no name, no release.")
        return told

    def clean_licence(self) -> str:
        """A licence has a number."""
        told = " ".join(str(self.cleaned_data["licence"]).split())
        if not any(letter.isdigit() for letter in told):
            raise forms.ValidationError(
                "Give the number of the license as it stands on the letter."
            )
        return told

    def clean_signed_on(self) -> date:
        """A letter is signed by today, and not years ago."""
        day: date = self.cleaned_data["signed_on"]
        if day > self.today:
            raise forms.ValidationError(
                "That day is still to come: a release holds once it is signed."
            )
        if day.year < self.today.year - OLDEST_YEARS:
            raise forms.ValidationError("That is years ago: give the letter for this very pour.")
        return day

    def clean(self) -> dict[str, Any]:
        """Refuse a time that needs no release."""
        told = super().clean() or {}
        amount = told.get("amount")
        if amount and told.get("unit") and self.hours() > LONGEST_HOURS:
            self.add_error(
                "amount",
                f"After {say_hours(LONGEST_HOURS)} concrete has the strength it was ordered with: "
                "give less, no release is needed then.",
            )
        return told

    def hours(self) -> int:
        """Return the hours after the pour."""
        told = self.cleaned_data
        amount: int = told["amount"]
        return amount * (HOURS_A_DAY if told["unit"] == DAYS else 1)

    def release(self) -> ReleaseTold:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        return ReleaseTold(
            told["allows"],
            self.hours(),
            told["engineer"],
            told["licence"],
            told["signed_on"],
            " ".join(told["note"].split()),
        )
