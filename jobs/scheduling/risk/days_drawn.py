"""Days drawn for many futures at once: wet spells, amounts, warmth, wind.

Arrays are (days, futures). What a day is like comes from the climate of its season; within the reach of a
forecast, from the forecast.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from jobs.weather.climate import season_of
from jobs.weather.rain import WET_MM
from jobs.weather.wind import wind_curve

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.random import Generator
    from numpy.typing import NDArray

    from .place import Place

SPELL_H = (3.0, 12.0)
"""Rain of a wet day falls in one spell of so many hours, begun at any hour (our own convention)."""
HIGH_WITH_LOW = 0.6
"""Correlation of a day's high and low with each other (four daily records: 0.2 to 0.8)."""
FORECAST_SWING_C = 2.0
"""Degrees by which a forecast of a few days misses (common practice)."""
NEVER = 1e6


class DrawnDays:
    """Drawn days of one place.

    Attributes
    ----------
    wet, mm
        Wet days, and how much falls.
    rains, stops, lasts
        Hours from the first midnight at which the day's spell begins and ends, and how long it takes;
        ``NEVER`` and its negative on a dry day.
    high, low, wind
        Celsius and m/s.
    luck
        Of each future with its ground, 0 to 1.
    """

    def __init__(self, place: Place, days: Sequence[date], futures: int, dice: Generator) -> None:
        self.place, self.days, self.futures = place, days, futures
        self._draw_rain(dice)
        self._draw_air(dice)
        self.luck = dice.random(futures, np.float32)

    def _draw_rain(self, dice: Generator) -> None:
        """Wet days by the chain of the season in a year of its own, then amounts and hours."""
        shape = (len(self.days), self.futures)
        shift = np.exp(dice.normal(0.0, 1.0, self.futures) * self.place.rain.spread)
        roll = dice.random(shape, np.float32)
        self.wet = np.zeros(shape, bool)
        state = dice.random(self.futures) < _seasonal(self._shares, self.days[0])
        for n, day in enumerate(self.days):
            known = self.place.forecast.get(day)
            if known is not None:
                state = roll[n] < known.wet
            else:
                dry, wet = (_moved(_seasonal(table, day), shift) for table in self._chances)
                state = roll[n] < np.where(state, wet, dry)
            self.wet[n] = state
        excess = np.array([_seasonal(self._excess, day) for day in self.days])[:, None]
        amount = WET_MM + dice.standard_exponential(shape, np.float32) * excess
        self.mm = np.where(self.wet, amount, 0).astype(np.float32)
        self.lasts = dice.uniform(*SPELL_H, shape).astype(np.float32)
        begins = dice.random(shape, np.float32) * (24 - self.lasts)
        hour = 24 * np.arange(len(self.days), dtype=np.float32)[:, None]
        self.rains = np.where(self.wet, hour + begins, NEVER).astype(np.float32)
        self.stops = np.where(self.wet, hour + begins + self.lasts, -NEVER).astype(np.float32)

    def _draw_air(self, dice: Generator) -> None:
        """Highs and lows that remember the day before, and the wind of each day."""
        shape = (len(self.days), self.futures)
        high, low = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
        warmth = self.place.warmth
        first, second = dice.standard_normal(shape), dice.standard_normal(shape)
        second = HIGH_WITH_LOW * first + np.sqrt(1 - HIGH_WITH_LOW**2) * second
        off_high, off_low = first[0], second[0]
        for n, day in enumerate(self.days):
            swing = warmth.swings[day.month - 1]
            fresh = np.sqrt(1 - swing.memory**2)
            off_high = swing.memory * off_high + fresh * first[n]
            off_low = swing.memory * off_low + fresh * second[n]
            known = self.place.forecast.get(day)
            if known is not None:
                high[n] = known.high + FORECAST_SWING_C * off_high
                low[n] = known.low + FORECAST_SWING_C * off_low
            else:
                high[n] = _seasonal(warmth.highs, day) + swing.high * off_high
                low[n] = _seasonal(warmth.lows, day) + swing.low * off_low
        self.high, self.low = np.maximum(high, low + 1), low
        curves = [wind_curve(self._mean_wind(day)) for day in self.days]
        wide = np.array([scale for _, scale in curves])[:, None]
        power = np.array([1 / shape for shape, _ in curves])[:, None]
        calm = dice.standard_exponential(shape)
        self.wind = (wide * calm**power).astype(np.float32)

    def _mean_wind(self, day: date) -> float:
        known = self.place.forecast.get(day)
        return known.wind if known is not None else _seasonal(self.place.warmth.winds, day)

    @property
    def _chances(self) -> tuple[list[float], list[float]]:
        chains = self.place.rain.chains
        return [chain.after_dry for chain in chains], [chain.after_wet for chain in chains]

    @property
    def _shares(self) -> list[float]:
        return [chain.wet_share for chain in self.place.rain.chains]

    @property
    def _excess(self) -> list[float]:
        return [self.place.rain.excess_mm(month) for month in range(12)]


def _seasonal(table: Sequence[float], day: date) -> float:
    """A month's figure, read off between the middles of two months."""
    place = season_of(day) - 0.5
    month, part = int(place // 1) % 12, place % 1
    return table[month] * (1 - part) + table[(month + 1) % 12] * part


def _moved(chance: float, odds: NDArray[np.float64]) -> NDArray[np.float64]:
    """A chance with its odds multiplied."""
    chance = min(max(chance, 1e-9), 1 - 1e-9)
    moved = chance / (1 - chance) * odds
    return moved / (1 + moved)
