"""When work can hurt somebody: the usual gates. They are reminders, not advice of a licensed trade.

Label, local code, the engineer, the competent person on site and the licensed trade overrule every figure.
"""

from __future__ import annotations

from enum import StrEnum
from math import sqrt

from .units import FOOT

TRENCH_PROTECTED = 5 * FOOT
"""Depth from which a trench is protected whatever the ground (29 CFR 1926.652(a)(1))."""
TRENCH_WAY_OUT = 4 * FOOT
WAY_OUT_WITHIN = 25 * FOOT
"""A ladder or ramp within 25 ft from 4 ft of depth (29 CFR 1926.651(c)(2))."""
SPOIL_BACK = 2 * FOOT
"""Spoil stays 2 ft back from the edge (29 CFR 1926.651(j)(2))."""
BONDING_WITHIN = 3 * FOOT
"""Paving nearer to a pool or fountain than this is bonded (NEC 680.26(B)(2))."""
HAND_SAW_LIMIT_H = 4
"""Hours a day of wet hand sawing outdoors without a respirator (29 CFR 1926.1153 Table 1)."""
FULL_BARROW_LB = 600
"""4 cubic feet of concrete: two people on a slope or soft ground (common practice)."""
SHADE_F = 80
HIGH_HEAT_F = 95
"""California: shade above 80 F, high-heat steps from 95 F (8 CCR 3395 (d), (e))."""
HEAVY_STOP_INDEX = 115
"""Heat index above which heavy work stops (OSHA heat guidance)."""


class Trench(StrEnum):
    """What a depth asks for."""

    JUDGED = "a competent person judges"
    PROTECTED = "protection is required"


class Heat(StrEnum):
    """Risk bands of the heat index (OSHA heat guidance)."""

    LOWER = "lower"
    MODERATE = "moderate"
    HIGH = "high"
    VERY_HIGH = "very high"


# -- pits ------------------------------------------------------------------------------


def trench(depth: int) -> Trench:
    """Return what a trench of a depth (tenths of a millimetre) asks for: from 5 ft protection."""
    return Trench.PROTECTED if depth >= TRENCH_PROTECTED else Trench.JUDGED


def way_out_missing(depth: int, nearest: int) -> bool:
    """Return True if a trench has no ladder or ramp near enough."""
    return depth >= TRENCH_WAY_OUT and nearest > WAY_OUT_WITHIN


def spoil_too_near(back: int) -> bool:
    """Return True if the heap lies nearer to the edge than 2 ft."""
    return back < SPOIL_BACK


def pit_asks(depth: int) -> tuple[str, ...]:
    """Return the keys of what a pit of a depth asks for before anybody goes in; none below 4 ft."""
    asks = ["pit-way-out"] if depth >= TRENCH_WAY_OUT else []
    if trench(depth) is Trench.PROTECTED:
        asks.append("pit-protected")
    return tuple(asks)


def trench_for(cover: int, outside: int) -> int:
    """Return least trench depth, bedding not included: cover is over the pipe, not to its bottom.

    Worked: conduit of 1.315 in outside at 18 in of cover asks for 19.315 in (NEC 300.5 note 1).
    """
    return cover + outside


def must_bond(edge: int) -> bool:
    """Return True if a slab's edge so far from the water is within the bonding zone."""
    return edge <= BONDING_WITHIN


# -- dust ------------------------------------------------------------------------------


def needs_respirator(hours: float, *, walk_behind: bool = False) -> bool:
    """Return True if wet sawing outdoors for so many hours a shift asks for a respirator of APF 10.

    A hand saw does above four hours, a walk-behind saw however long does not (29 CFR 1926.1153 Table 1 =
    8 CCR 1532.3).
    """
    return not walk_behind and hours > HAND_SAW_LIMIT_H


# -- heat, loads ------------------------------------------------------------------------


def heat_index(air_f: float, humidity: float) -> float:
    """Return the heat index, Fahrenheit, by the equation of the National Weather Service.

    Parameters
    ----------
    humidity
        Percent. Full sun adds up to 15 degrees to the answer.

    Notes
    -----
    The simple form is averaged with the air; from 80 F of that the regression is used, less an
    adjustment below 13 % humidity, plus one above 85 %.
    """
    simple = 0.5 * (air_f + 61 + (air_f - 68) * 1.2 + humidity * 0.094)
    if (simple + air_f) / 2 < 80:  # noqa: PLR2004 - the equation's own threshold
        return (simple + air_f) / 2
    return _regression(air_f, humidity) + _adjustment(air_f, humidity)


def _regression(t: float, r: float) -> float:
    return (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 6.83783e-3 * t * t
        - 5.481717e-2 * r * r
        + 1.22874e-3 * t * t * r
        + 8.5282e-4 * t * r * r
        - 1.99e-6 * t * t * r * r
    )


def _adjustment(t: float, r: float) -> float:
    if r < 13 and 80 <= t <= 112:  # noqa: PLR2004 - the equation's own limits
        return -((13 - r) / 4) * sqrt((17 - abs(t - 95)) / 17)
    if r > 85 and 80 <= t <= 87:  # noqa: PLR2004 - the equation's own limits
        return (r - 85) / 10 * (87 - t) / 5
    return 0.0


def heat_band(index: float) -> Heat:
    """Return the risk band; the shared edges 91 and 103 go up, 115 stays high."""
    bands = ((HEAVY_STOP_INDEX, Heat.VERY_HIGH), (102.999, Heat.HIGH), (90.999, Heat.MODERATE))
    return next((band for edge, band in bands if index > edge), Heat.LOWER)


def shade_up(air_f: float) -> bool:
    """Return True if California asks for shade to stand ready."""
    return air_f > SHADE_F


def high_heat_steps(air_f: float) -> bool:
    """Return True if California asks for its high-heat steps."""
    return air_f >= HIGH_HEAT_F


def warn_of_load(pounds: float, *, slope_or_soft: bool) -> bool:
    """Return True if a barrow is too heavy for one person there (common practice: from 600 lb)."""
    return slope_or_soft and pounds >= FULL_BARROW_LB
