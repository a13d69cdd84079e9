"""A contractor's own pace, learned from works that are done, and drawn towards the library while they are few.

Each actual is a ratio: the slots it took over those our figure gives for the same quantity. Their mean is taken on the scale of logarithms, for twice as long and half as long are the same distance from as planned.
It gets the weight Z = n / (n + k) of limited-fluctuation theory's successor, greatest-accuracy credibility
(H. Buhlmann, Experience Rating and Credibility, ASTIN Bulletin 4(3), 1967, 199-207), the library the rest.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from .durations import CROWDING, slots_for
from .errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Sequence

LEAST_ACTUALS = 3
"""Works that have to be done before a pace is learned from them."""
WEIGHT_OF_OURS = 3
"""k: our figure counts as so many works of one's own (common practice: as many as make a first guess)."""
DIGITS = 3
Triple = tuple[Decimal, Decimal, Decimal]


class Learned(NamedTuple):
    """What was learned of a work.

    Attributes
    ----------
    works
        How many it was learned from.
    seen
        What they took, as a share of our figure: 1.25 is a quarter longer.
    factor
        The same drawn towards ours.
    """

    works: int
    seen: Decimal
    factor: Decimal


def ratio_of(slots: int, ours: Decimal, *, people: Decimal, usual: int) -> Decimal:
    """Return the slots a work took over those we would have planned for it with the same people.

    Parameters
    ----------
    slots
        In which its crew was at it; nobody knows it finer, so what was done in its slots was as planned.
    ours
        Crew days our figure gives for the usual number of people.
    people
        Mean number of those who did it; pace grows with its 0.9th power, as in ``with_people``.

    Raises
    ------
    TradeError
        If nobody did it, or it took no time.

    Notes
    -----
    Worked: 3 days for two take three people 3 x (2 / 3) ^ 0.9 = 2.08 days, 9 slots (8.33 less 0.15, up); they
    took 12: 12 / 9 = 1.333.
    """
    if slots <= 0 or ours <= 0 or people <= 0 or usual < 1:
        raise TradeError("nobody learns from nothing", remedy="give days and people above zero")
    return Decimal(slots) / slots_for(ours * (Decimal(usual) / people) ** CROWDING)


def learn(ratios: Sequence[Decimal]) -> Learned | None:
    """Return what some actuals tell of a pace; None while they are fewer than three.

    Notes
    -----
    Worked: 1.2, 1.5 and 1.25 have the geometric mean 2.25 ^ (1/3) = 1.310; with n = 3 and k = 3 half of its
    logarithm counts: the square root, 1.145.
    """
    count = len(ratios)
    if count < LEAST_ACTUALS:
        return None
    mean = sum((ratio.ln() for ratio in ratios), Decimal(0)) / count
    weight = Decimal(count) / (count + WEIGHT_OF_OURS)
    return Learned(count, mean.exp(), (mean * weight).exp())


def own_rate(rate: Triple, unit: str, factor: Decimal) -> Triple:
    """Return three figures with a factor of time put in: durations grow with it, paces shrink.

    Three digits are kept, and figures that were apart stay in order.

    Notes
    -----
    Worked: 40, 60, 80 ft2 a day at 1.2 are 33.3, 50, 66.7; half a day at 1.2 is 0.6.
    """
    low, usual, high = (_round(f * factor if unit == "days" else f / factor) for f in rate)
    return low, usual, high


def _round(figure: Decimal) -> Decimal:
    places = figure.adjusted() - DIGITS + 1
    return figure.quantize(Decimal(1).scaleb(min(places, 0)))
