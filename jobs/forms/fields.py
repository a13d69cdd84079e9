"""What forms share: fields that read amounts as people write them, choices known late."""

from __future__ import annotations

import re
from abc import ABCMeta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.forms.forms import DeclarativeFieldsMetaclass

from jobs.services.telling.errors import say_error
from jobs.trade.amounts import parse_length, parse_quantity
from jobs.trade.errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Iterable

LONGEST_AMOUNT = 24
POSITION = re.compile(r"(-?\d{1,2}(?:\.\d+)?)°?[\s,;]+(-?\d{1,3}(?:\.\d+)?)°?")
PLACES = Decimal("0.00001")
"""A position is kept to about a yard."""
NORTH, EAST = 90, 180
DAYS = ("%Y-%m-%d", "%m/%d/%Y", "%d %b %Y", "%d %B %Y", "%b %d %Y", "%B %d, %Y")
"""Ways to write a date: as browsers send it, and as people do where theirs has no calendar to tap."""


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
            raise forms.ValidationError(say_error(error)) from None


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
            raise forms.ValidationError(say_error(error)) from None
        if amount > self.most:
            raise forms.ValidationError(
                f"{told} is more than a yard holds: give {self.most:,} {self.unit} or less."
            )
        return amount


class PositionField(forms.CharField):
    """A place on the map as a map app copies it: latitude, longitude; None where it is empty."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": 60, "required": False, **kwargs})
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> Any:
        """Read both figures, or say what to write instead."""
        told = super().clean(value)
        if not told:
            return None
        found = POSITION.fullmatch(told.strip("() "))
        if found is None:
            raise forms.ValidationError(
                f"{told} is no place on the map: copy it from a map app, like 35.595, -82.551."
            )
        north, east = (Decimal(figure).quantize(PLACES) for figure in found.groups())
        if abs(north) > NORTH or abs(east) > EAST:
            raise forms.ValidationError(
                "Latitude is 90 at most, longitude 180: latitude comes first, like 35.595, -82.551."
            )
        return north, east


def day_field(**kwargs: Any) -> forms.DateField:
    """Return a field for a date, shown as the browser shows dates."""
    shown = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(widget=shown, input_formats=DAYS, **kwargs)


class AbstractForm(DeclarativeFieldsMetaclass, ABCMeta):
    """Metaclass of a form that its children have to complete."""


def offer(form: forms.Form, name: str, choices: Iterable[tuple[Any, Any]]) -> None:
    """Give a field the choices that are only known when the form is made."""
    field = form.fields[name]
    assert isinstance(field, forms.ChoiceField)  # noqa: S101 (the form declares it so)
    field.choices = list(choices)
