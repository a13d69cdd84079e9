"""How long a work takes: from quantity and pace, by how many people, in crew days and slots."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError
from .work import Shift, Spread

if TYPE_CHECKING:
    from .work import Quantity

SLOTS_A_DAY = 4
"""Day slots of two crew-hours in an eight-hour crew day."""
GRACE = Decimal("0.15")
"""A work that runs over its last slot by 18 minutes or less is finished in it (common practice)."""
CROWDING = Decimal("0.9")
"""Pace grows with this power of the people: two men do not do the work of two (common practice)."""
LEAST_DAYS = Decimal("0.005")
"""Shortest duration told: two and a half minutes; below it a spread loses its order when rounded."""
THOUSANDTH = Decimal("0.001")


class Estimate(NamedTuple):
    """Mean and variance of a duration, days and days squared."""

    mean: Decimal
    variance: Decimal


def spread_of(
    quantity: Quantity, rate: tuple[Decimal, Decimal, Decimal], shift: Shift = Shift.DAY
) -> Spread:
    """Return crew days at low, typical and high pace: quantity over rate.

    Parameters
    ----------
    quantity
        Amount in the unit of the rate. For the unit ``days`` the three figures are the duration
        itself and the amount is not looked at.
    rate
        Per crew day, slowest first (for ``days`` shortest first).
    shift
        Off the day a shift is one visit, which is one slot: its rate is per visit, and a visit
        counts as a quarter of a day.

    Notes
    -----
    Worked: 420 ft2 of stone at 40, 60, 80 ft2 a day takes 5.25, 7, 10.5 crew days.
    """
    if quantity.unit == "days":
        return Spread(*(_told(days) for days in rate))
    slow, typical, fast = rate
    visits = 1 if shift is Shift.DAY else SLOTS_A_DAY
    return Spread(*(_told(quantity.amount / pace / visits) for pace in (fast, typical, slow)))


def with_people(days: Decimal, *, people: int, usual: int) -> Decimal:
    """Return the crew days a work takes with more or fewer people than its pace is quoted for.

    Worked: 7 days for two take three people 7 x (2 / 3) ^ 0.9 = 4.86 days.

    Raises
    ------
    TradeError
        If there is nobody.
    """
    if people < 1 or usual < 1:
        raise TradeError("nobody does this work", remedy="give it at least one person")
    return _told(days * (Decimal(usual) / Decimal(people)) ** CROWDING)


def slots_for(days: Decimal) -> int:
    """Return the slots a duration in crew days takes: quarters of a day, up, less a little grace.

    Worked: 0.53 day is 2 slots (2.12 less 0.15 is 1.97); 0.54 day is 3 (2.16 less 0.15 is 2.01).
    """
    quarters = (SLOTS_A_DAY * Decimal(days) - GRACE).to_integral_value(ROUND_CEILING)
    return max(1, int(quarters))


def estimate(spread: Spread) -> Estimate:
    """Return mean and variance of a three-point duration: (a + 4m + b) / 6 and ((b - a) / 6)^2.

    Worked: 2, 3, 6 days give 3.333 and 0.444 (the usual three-point formulas, from memory).
    """
    mean = (spread.low + 4 * spread.typical + spread.high) / 6
    return Estimate(mean, ((spread.high - spread.low) / 6) ** 2)


def _told(days: Decimal) -> Decimal:
    return max(LEAST_DAYS, days.quantize(THOUSANDTH))
