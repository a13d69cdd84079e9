"""Fields that read amounts as people write them, and how a form of rows is made."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from jobs.trade.errors import TradeError
from jobs.trade.units import parse_length, parse_quantity

if TYPE_CHECKING:
    from decimal import Decimal

LONGEST_AMOUNT = 24


class LengthField(forms.CharField):
    """A length in feet and inches or metric, as tenths of a millimetre; None where it is empty."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": LONGEST_AMOUNT, "required": False, **kwargs})
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> Any:
        """Read it, or say what to write instead."""
        told = super().clean(value)
        if not told:
            return None
        try:
            return parse_length(told)
        except TradeError as error:
            raise forms.ValidationError(f"{error.reason}: {error.remedy}.") from None


class AmountField(forms.CharField):
    """An amount in a unit, written bare or with any unit of its kind; None where it is empty."""

    def __init__(self, *, unit: str, most: int, **kwargs: Any) -> None:
        super().__init__(**{"max_length": LONGEST_AMOUNT, "required": False, **kwargs})
        self.unit, self.most = unit, most
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> Any:
        """Read it, or say what to write instead."""
        told = super().clean(value)
        if not told:
            return None
        try:
            amount: Decimal = parse_quantity(told, self.unit).amount
        except TradeError as error:
            raise forms.ValidationError(f"{error.reason}: {error.remedy}.") from None
        if amount > self.most:
            raise forms.ValidationError(
                f"{told} is more than a yard holds: give {self.most:,} {self.unit} or less."
            )
        return amount


def day_field(**kwargs: Any) -> forms.DateField:
    """Return a field for a date, shown as the browser shows dates."""
    return forms.DateField(
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **kwargs
    )
