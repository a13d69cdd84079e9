"""Units of a yard: what each measures, one turned into another, and lengths as they are spoken.

Lengths are whole tenths of a millimetre, so that an inch (254) and a foot (3048) are exact. Factors are those
of the international yard and pound.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Mapping

INCH = 254
FOOT = 12 * INCH
METRE = 10_000
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


def _like(unit: str) -> str:
    kind = UNITS[unit].kind
    return " or ".join(key for key, known in UNITS.items() if known.kind == kind)


def _short(amount: Decimal, step: str) -> str:
    return f"{amount.quantize(Decimal(step), ROUND_HALF_UP).normalize() + 0:f}"
