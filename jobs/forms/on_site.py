"""Questions about what was measured on site. Cleaning only; labels stand in the catalogue of words."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms

from jobs.services.telling.words import say
from jobs.trade.work import Sentence

from .fields import LengthField

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

COLDEST_F, HOTTEST_F = -40, 250
COVERS = ("direct", "pvc", "rigid", "gfci-circuit", "low-voltage")
CEMENTS: Mapping[str, str] = {
    "type-i": "Type I",
    "type-ii": "Type II",
    "high": "high ash or slag",
    "type-iii": "Type III",
}


def _number(least: float, most: float, *, required: bool = True) -> forms.FloatField:
    return forms.FloatField(min_value=least, max_value=most, required=required)


def _whole(least: int, most: int, *, required: bool = True) -> forms.IntegerField:
    return forms.IntegerField(min_value=least, max_value=most, required=required)


def _amount(least: str, most: int) -> forms.DecimalField:
    return forms.DecimalField(min_value=Decimal(least), max_value=most)


def _length(*, required: bool = True) -> LengthField:
    return LengthField(required=required)


def _air() -> forms.FloatField:
    return _number(COLDEST_F, HOTTEST_F)


class Pick(forms.ChoiceField):
    """One of some keys, each worded in the catalogue."""

    def __init__(self, keys: Iterable[str]) -> None:
        self.keys = tuple(keys)
        super().__init__(choices=[(key, key) for key in self.keys])


class Measured(forms.Form):
    """One question; ``kind`` is its word in the address."""

    kind = ""

    def __init__(self, data: Mapping[str, Any], language: str) -> None:
        asked = data if data.get("ask") == self.kind else None
        super().__init__(asked, label_suffix="", auto_id=f"{self.kind}_%s")
        self.language = language
        for name, field in self.fields.items():
            field.label = say(Sentence(f"site-f-{name}"), language)
            if not field.required and not isinstance(field, forms.BooleanField):
                field.help_text = say(Sentence("site-optional"), language)
            if isinstance(field, Pick):
                field.choices = [
                    (key, say(Sentence(f"site-c-{key}"), language)) for key in field.keys
                ]

    def told(self) -> Iterator[tuple[forms.BoundField, str]]:
        """Yield every field, with what to write instead where it was answered wrongly."""
        for bound in self:
            yield bound, say(_instead(bound), self.language) if bound.errors else ""


def _instead(bound: forms.BoundField) -> Sentence:
    field = bound.field
    if not bound.data:
        return Sentence("site-wrong-missing")
    if isinstance(field, LengthField):
        return Sentence("site-wrong-length")
    if isinstance(field, forms.IntegerField):  # and those that come from it: all numbers
        limits = {"least": f"{field.min_value:,}", "most": f"{field.max_value:,}"}
        return Sentence("site-wrong-number", limits)
    return Sentence("site-wrong-choice")


class Pit(Measured):
    """How deep, how far the way out, how far the heap."""

    kind = "pit"
    depth = _length()
    ladder = _length(required=False)
    back = _length(required=False)


class Wire(Measured):
    """How it is laid, and how wide."""

    kind = "wire"
    how = Pick(COVERS)
    outside = _length()


class Water(Measured):
    """From the paving to the water."""

    kind = "water"
    edge = _length()


class Saw(Measured):
    """Which saw, how long."""

    kind = "saw"
    hours = _number(0, 24)
    pushed = forms.BooleanField(required=False)


class Truck(Measured):
    """A load of concrete, and what was agreed of it."""

    kind = "truck"
    concrete = _air()
    minutes = _whole(0, 1_000)
    turns = _whole(0, 5_000, required=False)
    agreed = _whole(1, 600, required=False)
    edition = _whole(1950, 2100, required=False)


class Drying(Measured):
    """What dries fresh concrete."""

    kind = "drying"
    concrete = _air()
    air = _air()
    humidity = _number(0, 100)
    wind = _number(0, 150)


class Mortar(Measured):
    """How hot it is."""

    kind = "mortar"
    mortar = _air()


class Slab(Measured):
    """How old, how warm, of what, how strong."""

    kind = "slab"
    days = _number(0, 1_000)
    kept = _air()
    cement = Pick(CEMENTS)
    tested = _number(0, 200, required=False)

    def clean_cement(self) -> str:
        """Return the cement as the trade names it."""
        return CEMENTS[self.cleaned_data["cement"]]


class Barrow(Measured):
    """How much, how far, how loaded."""

    kind = "barrow"
    yards = _amount("0.1", 500)
    load = _amount("0.5", 20)
    feet = _amount("1", 2_000)
    soft = forms.BooleanField(required=False)


class Corner(Measured):
    """Two passages and what goes round between them."""

    kind = "corner"
    first = _length()
    second = _length()
    width = _length()


QUESTIONS: tuple[type[Measured], ...] = (
    Pit, Wire, Water, Saw, Truck, Drying, Mortar, Slab, Barrow, Corner,
)  # fmt: skip


def questions(data: Mapping[str, Any], language: str) -> tuple[Measured, ...]:
    """Return every question, the one that was asked with its answers filled in."""
    return tuple(form(data, language) for form in QUESTIONS)
