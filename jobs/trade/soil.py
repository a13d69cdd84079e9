"""Soil: what is dug, what it fills, what is hauled away, and how long it dries after rain."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError
from .formulas import USUAL_SHRINK, USUAL_SWELL

if TYPE_CHECKING:
    from .facts import DryBand, DryOut, Soil

TRUCK_YD3 = Decimal(10)
"""Loose yards a tandem dump truck takes (common practice)."""


SUN, SHADE, SHEETS = "in the sun", "in shade or under turf", "under sheets when rain is due"
LIES = (SUN, SHADE, SHEETS)
"""How bare ground of a yard lies; what it says goes for the whole yard."""


class Lie(NamedTuple):
    """Whether ground lies in shade or under turf, and whether it is kept under sheets."""

    shade: bool = False
    covered: bool = False


OPEN_GROUND = Lie()
GROUND = "ground"
"""Answer of a yard to how its ground lies."""


class Days(NamedTuple):
    """Least, usual and high days."""

    least: Decimal
    usual: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class Book:
    """The yard's soil, cubic yards: dug in the bank, wanted compacted, and what is left or lacking.

    Attributes
    ----------
    dug
        Bank yards out of cuts, pits and trenches.
    wanted
        Compacted yards for mounds and fills.
    swell, shrink
        Shares of the bank volume.
    """

    dug: Decimal
    wanted: Decimal
    swell: Decimal = USUAL_SWELL
    shrink: Decimal = USUAL_SHRINK

    @property
    def used(self) -> Decimal:
        """Bank yards of our own that go into mounds and fills before any is hauled away."""
        return min(self.dug, to_bank(self.wanted, self.shrink))

    @property
    def away(self) -> Decimal:
        """Loose yards hauled off the yard."""
        return to_loose(self.dug - self.used, self.swell)

    @property
    def bought(self) -> Decimal:
        """Loose yards brought in because the yard has too little."""
        return to_loose(to_bank(self.wanted, self.shrink) - self.used, self.swell)


def book_of(dug: Decimal, wanted: Decimal, soil: Soil | None) -> Book:
    """Return the book of a yard of some soil, common earth where it is not known."""
    if soil is None:
        return Book(dug, wanted)
    least, most = soil.shrink
    return Book(dug, wanted, soil.swell_use, (least + most) / 2)


def to_loose(bank: Decimal, swell: Decimal) -> Decimal:
    """Return loose yards of bank yards: 20 of clay at 30 % are 26."""
    return bank * (1 + swell)


def to_bank(compacted: Decimal, shrink: Decimal) -> Decimal:
    """Return bank yards that compact to so many: 5.8 at 10 % are 6.44."""
    return compacted / (1 - shrink)


def trucks(loose: Decimal, truck: Decimal = TRUCK_YD3) -> int:
    """Return truck loads, up: 26 loose yards at 10 are 3."""
    return int((loose / truck).to_integral_value(ROUND_CEILING))


def days_to_dry(
    table: DryOut,
    rain_in: Decimal,
    *,
    cool: bool = False,
    shade: bool = False,
    covered: bool = False,
) -> Days:
    """Return days after rain before bare soil can be worked; the hand's squeeze test overrules it.

    Parameters
    ----------
    cool
        October to March north of 35 degrees, or a cool season otherwise: the days are doubled.
    shade
        Under turf or in shade: a day more.
    covered
        Under a sheet: half.
    """
    if rain_in < 0:
        raise TradeError(f"{rain_in} in of rain cannot fall", remedy="give zero or more")
    band = table.after(rain_in)
    if band is None:
        return Days(Decimal(0), Decimal(0), Decimal(0))
    longer = table.cool_factor if cool else Decimal(1)
    more = table.shade_days if shade else Decimal(0)
    share = table.covered_factor if covered else Decimal(1)
    return Days(*((days * longer + more) * share for days in _figures(band)))


def lie_of(ground: str) -> Lie:
    """Return how bare ground lies by the word a yard is described with; in the sun where none is said."""
    return Lie(ground == SHADE, ground == SHEETS)


def _figures(band: DryBand) -> tuple[Decimal, Decimal, Decimal]:
    return band.least, band.usual, band.high
