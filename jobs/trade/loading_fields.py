"""Readers of single values of the library files: each returns what the dataclasses want, or refuses.

A reader raises ``TradeError`` with reason and remedy; who called it knows the file and the key.
"""

from __future__ import annotations

import re
from decimal import Decimal
from enum import Enum
from typing import TYPE_CHECKING, Any, TypeVar

from .amounts import parse_length
from .assemblies import Ask, Part
from .errors import TradeError
from .facts import DryBand
from .templates import Pace
from .units import UNITS
from .work import Tread

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    Reader = Callable[[object], Any]

T = TypeVar("T")
E = TypeVar("E", bound=Enum)

PAIR, TRIPLE, BAND = 2, 3, 4
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def text(value: object) -> str:
    """Read words that say something."""
    if not isinstance(value, str) or not value.strip():
        raise TradeError(f"{value!r} is not words", remedy="write words in quotes")
    return value.strip()


def texts(value: object) -> tuple[str, ...]:
    """Read a list of words, none of them twice."""
    if not isinstance(value, list):
        raise TradeError(f"{value!r} is not a list", remedy='write a list like ["a", "b"]')
    found = tuple(map(text, value))
    twice = sorted({word for word in found if found.count(word) > 1})
    if twice:
        raise TradeError(f"{', '.join(twice)} stands twice", remedy="keep it once")
    return found


def some(value: object) -> tuple[str, ...]:
    """Read a list of words that is not empty."""
    found = texts(value)
    if not found:
        raise TradeError("the list is empty", remedy="name at least one")
    return found


def word_set(value: object) -> frozenset[str]:
    """Read a list of words whose order does not matter."""
    return frozenset(texts(value))


def yes_no(value: object) -> bool:
    """Read true or false."""
    if not isinstance(value, bool):
        raise TradeError(f"{value!r} is not yes or no", remedy="write true or false")
    return value


def number(value: object) -> Decimal:
    """Read a finite number."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise TradeError(f"{value!r} is not a number", remedy="write a number without quotes")
    amount = Decimal(str(value))
    if not amount.is_finite():
        raise TradeError(f"{value} is not a number", remedy="write a finite number")
    return amount


def amount(value: object) -> Decimal:
    """Read a number of zero or more."""
    found = number(value)
    if found < 0:
        raise TradeError(f"{found} is below zero", remedy="write zero or more")
    return found


def whole(value: object) -> int:
    """Read a whole number of zero or more."""
    found = amount(value)
    if found != found.to_integral_value():
        raise TradeError(f"{found} is not whole", remedy="write a whole number")
    return int(found)


def head_count(value: object) -> int:
    """Read a number of people: one or more."""
    found = whole(value)
    if found < 1:
        raise TradeError("it takes at least one person", remedy="write one or more")
    return found


def wholes(value: object) -> tuple[int, ...]:
    """Read a list of whole numbers."""
    if not isinstance(value, list):
        raise TradeError(f"{value!r} is not a list", remedy="write a list like [1, 2]")
    return tuple(map(whole, value))


def length(value: object) -> int:
    """Read a length with its unit as tenths of a millimetre; a bare 0 is no width at all."""
    if value == 0 and not isinstance(value, bool):
        return 0
    return parse_length(text(value))


def lengths(value: object) -> tuple[int, int]:
    """Read narrowest and widest."""
    low, high = map(length, _row(value, PAIR))
    _rising(Decimal(low), Decimal(high))
    return low, high


def span(value: object) -> tuple[Decimal, Decimal]:
    """Read least and most."""
    low, high = map(number, _row(value, PAIR))
    _rising(low, high)
    return low, high


def rate(value: object) -> tuple[Decimal, Decimal, Decimal]:
    """Read low, typical and high, all above zero."""
    low, typical, high = map(number, _row(value, TRIPLE))
    if low <= 0:
        raise TradeError(f"a rate of {low} never ends", remedy="write rates above zero")
    _rising(low, typical, high)
    return low, typical, high


def bands(value: object) -> tuple[DryBand, ...]:
    """Read rows of rain in inches and least, usual and high days."""
    if not isinstance(value, list) or not value:
        raise TradeError(f"{value!r} is no table", remedy="write rows like [0.5, 1, 1.5, 2]")
    found = []
    for row in value:
        rain, least, usual, high = map(amount, _row(row, BAND))
        _rising(least, usual, high)
        found.append(DryBand(rain, least, usual, high))
    return tuple(found)


def alternatives(value: object) -> tuple[tuple[str, ...], ...]:
    """Read machines needed together, each a list of alternatives with the preferred first."""
    if not isinstance(value, list):
        raise TradeError(f"{value!r} is not a list", remedy='write a list like [["a", "b"], ["c"]]')
    return tuple(map(some, value))


def unit(value: object) -> str:
    """Read a unit by the word we keep it under."""
    return one_of(*UNITS)(value)


def asked_unit(value: object) -> str:
    """Read the unit of a question; empty for a choice of words."""
    return "" if value == "" else unit(value)


def tread(value: object) -> Tread:
    """Read how heavily a work treads."""
    return Tread[one_of(*(t.name.lower() for t in Tread))(value).upper()]


def clock(value: object) -> str:
    """Read a local time of day, ``16:30``."""
    told = text(value)
    if not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", told):
        raise TradeError(f"{told!r} is not a time of day", remedy='write it like "16:30"')
    return told


def day_and_clock(value: object) -> str:
    """Read a weekday and a time of day, ``tuesday 11:59``."""
    day, _, hour = text(value).partition(" ")
    return f"{one_of(*WEEKDAYS)(day)} {clock(hour)}"


def one_of(*words: str) -> Callable[[object], str]:
    """Return a reader of one of a few words."""

    def read(value: object) -> str:
        if value not in words:
            raise TradeError(f"{value!r} is unknown", remedy=f"use one of {', '.join(words)}")
        return str(value)

    return read


def member(kind: type[E]) -> Callable[[object], E]:
    """Return a reader of the members of an enumeration by their word."""
    read = one_of(*(str(one.value) for one in kind))
    return lambda value: kind(read(value))


def rows(
    build: Callable[..., T], readers: Mapping[str, Reader]
) -> Callable[[object], tuple[T, ...]]:
    """Return a reader of a list of small tables; a key not given is left to its default."""

    def one(row: object) -> T:
        if not isinstance(row, dict):
            raise TradeError(f"{row!r} is not a table", remedy="write { key = value }")
        strange = sorted(row.keys() - readers.keys())
        if strange:
            raise TradeError(
                f"{', '.join(strange)} is not a key known here",
                remedy=f"use {', '.join(readers)}",
            )
        try:
            return build(**{key: readers[key](value) for key, value in row.items()})
        except TypeError:
            raise TradeError(f"{row} lacks a key", remedy=f"give {', '.join(readers)}") from None

    def read(value: object) -> tuple[T, ...]:
        if not isinstance(value, list):
            raise TradeError(f"{value!r} is not a list", remedy="write [{ key = value }]")
        return tuple(map(one, value))

    return read


def when(value: object) -> dict[str, tuple[str, ...]]:
    """Read under which answers a part is needed."""
    if not isinstance(value, dict):
        raise TradeError(f"{value!r} is not a table", remedy='write { ask = ["word"] }')
    return {key: some(words) for key, words in value.items()}


paces = rows(Pace, {"way": text, "rate": rate, "people": head_count, "machine": text})
"""Reader of the other ways of doing a work."""
asks = rows(
    Ask,
    {
        "key": text,
        "name": text,
        "unit": asked_unit,
        "default": str,
        "required": yes_no,
        "choices": texts,
        "most": amount,
    },
)
"""Reader of the questions of an assembly."""
parts = rows(Part, {"template": text, "quantity": text, "when": when})
"""Reader of the activities of an assembly."""


def _row(value: object, size: int) -> list[object]:
    if not isinstance(value, list) or len(value) != size:
        raise TradeError(f"{value!r} has not {size} figures", remedy=f"write {size} figures in []")
    return value


def _rising(*figures: Decimal) -> None:
    if list(figures) != sorted(figures):
        told = ", ".join(map(str, figures))
        raise TradeError(
            f"{told} do not rise", remedy="write the lowest first and the highest last"
        )
