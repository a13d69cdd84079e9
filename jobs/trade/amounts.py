"""Lengths and quantities as people write them, read into exact figures, or refused with what to write instead."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from types import MappingProxyType
from typing import TYPE_CHECKING

from .errors import TradeError
from .units import FOOT, UNITS, unit_of
from .work import Quantity

if TYPE_CHECKING:
    from collections.abc import Mapping

LONGEST = 10_000 * FOOT
"""Longer than any yard: a slip of the hand."""
MOST = Decimal(10_000_000)
"""Likewise, in any unit."""

SPELLINGS: Mapping[str, str] = MappingProxyType(
    {
        spelling: unit
        for unit, spellings in {
            "ft2": "ft2 ft² ft^2 sqft sf squarefoot squarefeet",
            "yd2": "yd2 yd² yd^2 sqyd sy squareyard squareyards",
            "m2": "m2 m² m^2 sqm squaremetre squaremetres squaremeter squaremeters",
            "yd3": "yd3 yd³ yd^3 cuyd cy cubicyard cubicyards",
            "ft3": "ft3 ft³ ft^3 cuft cf cubicfoot cubicfeet",
            "m3": "m3 m³ m^3 cum cubicmetre cubicmetres cubicmeter cubicmeters",
            "ft": "ft foot feet ' lf",
            "in": 'in inch inches "',
            "yd": "yd yard yards",
            "m": "m metre metres meter meters",
            "cm": "cm",
            "mm": "mm",
            "lb": "lb lbs pound pounds",
            "tons": "ton tons",
            "kg": "kg",
            "tonnes": "tonne tonnes",
            "days": "d day days",
            "each": "each ea piece pieces pcs",
            "risers": "riser risers step steps",
            "percent": "% percent",
        }.items()
        for spelling in spellings.split()
    }
)
WHOLE = frozenset({"count", "risers"})
"""Kinds that are counted, so never in parts."""

_NUMBER = r"(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?|\.\d+"
_MARKS = str.maketrans({"′": "'", "’": "'", "″": '"', "”": '"', "“": '"', "\u00a0": " "})
_AMOUNT = re.compile(rf"(?P<number>-?(?:{_NUMBER}))\s*(?P<unit>\D.*)?")
_PART = re.compile(
    rf"(?P<number>{_NUMBER})(?:[\s-]+(?P<over>\d+)/(?P<under>[1-9]\d*))?\s*(?P<unit>[a-z]+|['\"])"
)
_HINT = 'write it with its unit, like "54 in", "4 ft 6 in" or "1.2 m"'


def parse_length(text: str) -> int:
    """Read a length as people write it.

    Parameters
    ----------
    text
        ``54 in``, ``35 1/2 in``, ``4 ft 6 in``, ``4'6"``, ``1.2 m``, ``40in``.

    Returns
    -------
    int
        Tenths of a millimetre, rounded half up.

    Raises
    ------
    TradeError
        If it is empty, has no unit, an unknown one, or is nothing or less, with what to write instead.
    """
    told = _plain(text)
    parts = list(_PART.finditer(told))
    if not told:
        raise TradeError("the length is empty", remedy=_HINT)
    if re.fullmatch(_NUMBER, told):
        raise TradeError(f"{told} has no unit, so it could be feet or inches", remedy=_HINT)
    if _PART.sub("", told).strip(" ,"):
        raise TradeError(f"{text.strip()!r} is not a length", remedy=_HINT)
    total = sum((_part(part) for part in parts), Decimal(0))
    tenths = int(total.to_integral_value(ROUND_HALF_UP))
    if not 0 < tenths <= LONGEST:
        raise TradeError(f"{text.strip()} is no length in a yard", remedy="measure it once more")
    return tenths


def parse_quantity(text: str, unit: str) -> Quantity:
    """Read an amount and turn it into the unit that was asked for.

    Parameters
    ----------
    text
        ``420 ft2``, ``420 sq ft``, ``39 m2``, ``5.2 yd3``, ``12 each``, ``3 days``, ``8 percent``; a
        bare number is taken in ``unit``.
    unit
        A key of ``UNITS``.

    Returns
    -------
    Quantity
        In ``unit``; amounts entered in another unit are rounded to thousandths.

    Raises
    ------
    TradeError
        If it is empty, negative, no number, in a unit unknown or of another kind, or a part of a thing
        that is counted.
    """
    told, asked = _plain(text), unit_of(unit)
    hint = f'write a number of zero or more with its unit, like "{_example(unit)}"'
    if not told:
        raise TradeError("the amount is empty", remedy=hint)
    if asked.kind == "length" and len(list(_PART.finditer(told))) > 1:
        return Quantity(_thousandths(parse_length(text) / asked.factor), unit)
    found = _AMOUNT.fullmatch(told)
    if found is None:
        raise TradeError(f"{text.strip()!r} is not an amount", remedy=hint)
    amount = Decimal(found["number"].replace(",", ""))
    given = _unit_said(found["unit"], unit, hint)
    if given != unit:
        amount = _thousandths(amount * UNITS[given].factor / asked.factor)
    if amount < 0:
        raise TradeError(f"{text.strip()} cannot be built", remedy=hint)
    if amount > MOST:
        raise TradeError(
            f"{text.strip()} is more than a yard holds", remedy=f"{hint}, {MOST:,} at most"
        )
    if asked.kind in WHOLE and amount != amount.to_integral_value():
        raise TradeError(f"{text.strip()} is not a whole count", remedy=hint)
    return Quantity(amount, unit)


def _plain(text: str) -> str:
    return text.translate(_MARKS).strip().lower()


def _part(part: re.Match[str]) -> Decimal:
    unit = SPELLINGS.get(part["unit"], "")
    if not unit or UNITS[unit].kind != "length":
        raise TradeError(f"{part['unit']!r} is not a unit of length", remedy=_HINT)
    number = Decimal(part["number"].replace(",", ""))
    if part["over"]:
        number += Decimal(part["over"]) / Decimal(part["under"])
    return number * UNITS[unit].factor


def _unit_said(said: str | None, asked: str, hint: str) -> str:
    """Return the key of the unit somebody wrote, the asked one if none."""
    if not said:
        return asked
    spelling = re.sub(r"square |sq\.? ?", "sq", said.strip())
    spelling = re.sub(r"cubic |cu\.? ?", "cu", spelling).rstrip(".").replace(" ", "")
    unit = SPELLINGS.get(said.strip()) or SPELLINGS.get(spelling) or _long(spelling)
    if not unit:
        raise TradeError(f"{said.strip()!r} is not a unit known here", remedy=hint)
    if UNITS[unit].kind != UNITS[asked].kind:
        raise TradeError(
            f"{unit} measures {UNITS[unit].kind}, not {UNITS[asked].kind}", remedy=hint
        )
    return unit


def _long(spelling: str) -> str:
    """``sqfeet`` and ``cuyards``: the short word for the power, the long one for the unit."""
    for short, power in (("sq", "2"), ("cu", "3")):
        if spelling.startswith(short):
            base = SPELLINGS.get(spelling.removeprefix(short), "")
            return base + power if base + power in UNITS else ""
    return ""


def _example(unit: str) -> str:
    return f"12 {unit}" if UNITS[unit].kind in WHOLE else f"4.5 {unit}"


def _thousandths(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.001"), ROUND_HALF_UP).normalize() + 0
