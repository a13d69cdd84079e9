"""What concrete and masonry ask for by the air of their days: cold steps, hot steps, shade, cover.

The specification in force, the mix and the engineer overrule every figure. Temperatures are Fahrenheit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

COLD_F = 40
"""Air below which concrete (ACI 306R-10) and masonry (TMS 602) take cold steps."""
WARM_F = 50
SPELL_DAYS = 3
"""More days running than this with a mean below 40 F are a cold spell, unless it is above 50 F for more than
half of one of them (ACI terminology of 308.1-11, the older sense)."""
HALF = 0.5
HOT_F, HOT_IN_WIND_F = 100, 90
"""Air above which masonry takes hot steps, calm and in wind (TMS 602)."""
SHADE_F, SHADE_IN_WIND_F = 115, 105
"""Air above which its materials are shaded, too (TMS 602)."""
WIND_MPH = 8
MORTAR_HOTTEST_F = 120
"""Mortar hotter than this is refused (TMS 602)."""


class DayAir(NamedTuple):
    """Air of a day: high, low, and the share of the day above 50 F."""

    high: float
    low: float
    warm: float = 0.0

    @property
    def mean(self) -> float:
        """The mean daily temperature: of high and low (ACI 308.1-11; TMS 602)."""
        return (self.high + self.low) / 2


def is_cold(lowest: float) -> bool:
    """Return True if air so cold, while it is worked or protected, asks for cold steps."""
    return lowest < COLD_F


def is_cold_spell(days: Sequence[DayAir]) -> bool:
    """Return True if some of these days, one after the other, are a cold spell in the older sense."""
    run = 0
    for day in days:
        run = run + 1 if day.mean < COLD_F and day.warm <= HALF else 0
        if run > SPELL_DAYS:
            return True
    return False


def is_protected(day: DayAir) -> bool:
    """Return True if fresh masonry is protected that day by its mean temperature (TMS 602)."""
    return day.mean < COLD_F


def is_hot(highest: float, wind_mph: float) -> bool:
    """Return True if masonry takes hot steps."""
    return highest > HOT_F or (highest > HOT_IN_WIND_F and wind_mph > WIND_MPH)


def is_shaded(highest: float, wind_mph: float) -> bool:
    """Return True if its materials are shaded, too."""
    return highest > SHADE_F or (highest > SHADE_IN_WIND_F and wind_mph > WIND_MPH)


def mortar_refused(fahrenheit: float) -> bool:
    """Return True if mortar is too hot to be used."""
    return fahrenheit > MORTAR_HOTTEST_F
