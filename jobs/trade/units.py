"""Lengths and quantities as people write them, read into exact figures.

Lengths are whole tenths of a millimetre, so that an inch (254) and a foot (3048) are exact. Quantities
are decimals in the unit that was asked for. Factors are those of the international yard and pound.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError
from .work import Quantity

if TYPE_CHECKING:
    from collections.abc import Mapping

INCH = 254
FOOT = 12 * INCH
METRE = 10_000
LONGEST = 10_000 * FOOT
"""Longer than any yard: a slip of the hand."""
MOST = Decimal(10_000_000)
SAID_IN_INCHES = 96 * INCH
"""Gates and machines are spoken of in inches up to about eight feet (common practice)."""

FT2_PER_M2 = Decimal(1) / Decimal("0.09290304")
FT3_PER_M3 = Decimal(1) / Decimal("0.028316846592")
LB_PER_KG = Decimal(1) / Decimal("0.45359237")
LB_PER_TON = Decimal(2000)


class Unit(NamedTuple):
    """What a unit measures, and how many of the kind's base unit it is."""

    kind: str
    factor: Decimal


UNITS: Mapping[str, Unit] = MappingProxyType(
    {
        "ft2": Unit("area", Decimal(1)),
        "yd2": Unit("area", Decimal(9)),
        "m2": Unit("area", FT2_PER_M2),
        "yd3": Unit("volume", Decimal(27)),
        "ft3": Unit("volume", Decimal(1)),
        "m3": Unit("volume", FT3_PER_M3),
        "ft": Unit("length", Decimal(FOOT)),
        "in": Unit("length", Decimal(INCH)),
        "yd": Unit("length", Decimal(3 * FOOT)),
        "m": Unit("length", Decimal(METRE)),
        "cm": Unit("length", Decimal(100)),
        "mm": Unit("length", Decimal(10)),
        "lb": Unit("weight", Decimal(1)),
        "tons": Unit("weight", LB_PER_TON),
        "kg": Unit("weight", LB_PER_KG),
        "tonnes": Unit("weight", 1000 * LB_PER_KG),
        "days": Unit("crew time", Decimal(1)),
        "each": Unit("count", Decimal(1)),
        "risers": Unit("risers", Decimal(1)),
        "percent": Unit("share", Decimal(1)),
    }
)
"""Units by the word we keep them under; bases are ft2, ft3, tenths of a millimetre and lb."""

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


def convert(amount: Decimal, unit: str, to: str) -> Decimal:
    """Return an amount in another unit of the same kind, unrounded.

    Raises
    ------
    TradeError
        If a unit is unknown or the two measure different things.
    """
    one, other = unit_of(unit), unit_of(to)
    if one.kind != other.kind:
        raise TradeError(
            f"{unit} measures {one.kind}, {to} measures {other.kind}",
            remedy=f"give it in {_like(to)}",
        )
    return amount * one.factor / other.factor


def unit_of(unit: str) -> Unit:
    """Return a unit by its key.

    Raises
    ------
    TradeError
        If it is not one of ``UNITS``.
    """
    if unit not in UNITS:
        raise TradeError(
            f"{unit!r} is not a unit known here", remedy=f"use one of {', '.join(UNITS)}"
        )
    return UNITS[unit]


def inches(amount: Decimal | int) -> int:
    """Return inches as tenths of a millimetre, rounded half up."""
    return int((Decimal(amount) * INCH).to_integral_value(ROUND_HALF_UP))


def say_length(tenths: int, *, metric: bool = False) -> str:
    """Return a length as spoken on a site: ``54 in``, ``9 ft 6 in``; ``914 mm``, ``1.37 m``.

    Parameters
    ----------
    tenths
        Tenths of a millimetre; said to the tenth of an inch, the millimetre or the centimetre.
    """
    if metric:
        if tenths < METRE:
            return f"{_short(Decimal(tenths) / 10, '1')} mm"
        return f"{_short(Decimal(tenths) / METRE, '0.01')} m"
    whole = Decimal(tenths) / INCH
    if tenths <= SAID_IN_INCHES:
        return f"{_short(whole, '0.1')} in"
    return say_feet(tenths)


def say_feet(tenths: int) -> str:
    """Return a length in feet and inches: ``4 ft 6 in``, ``4 ft``, ``6 in``."""
    tenth_inches = (Decimal(tenths) / INCH).quantize(Decimal("0.1"), ROUND_HALF_UP)
    feet, rest = divmod(tenth_inches, 12)
    parts = [f"{feet} ft"] if feet else []
    if rest or not feet:
        parts.append(f"{_short(rest, '0.1')} in")
    return " ".join(parts)


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


def _like(unit: str) -> str:
    kind = UNITS[unit].kind
    return " or ".join(key for key, known in UNITS.items() if known.kind == kind)


def _thousandths(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.001"), ROUND_HALF_UP).normalize() + 0


def _short(amount: Decimal, step: str) -> str:
    return f"{amount.quantize(Decimal(step), ROUND_HALF_UP).normalize() + 0:f}"
