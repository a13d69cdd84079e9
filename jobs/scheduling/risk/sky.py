"""Weather drawn for many futures at once: wet spells, amounts, warmth, wind, drying ground.

Arrays are (days, futures) or (days, positions of the day, futures). What a day is like comes from the
climate of its season; within the reach of a forecast, from the forecast. Not drawn, for want of figures:
humidity (and with it heat index and evaporation), thunder, and rain under 0.10 in a day.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from jobs.trade.soil import OPEN_GROUND, Lie, days_to_dry
from jobs.trade.work import Shift
from jobs.weather.climate import cool_half, season_of
from jobs.weather.limits import breaks
from jobs.weather.odds import wind_curve
from jobs.weather.rain import WET_MM
from jobs.weather.temperature import day_curve

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, time

    from numpy.random import Generator
    from numpy.typing import NDArray

    from jobs.scheduling.slots import Position
    from jobs.trade.facts import DryOut
    from jobs.weather.limits import Limit, Measure
    from jobs.weather.rain import Rain
    from jobs.weather.temperature import Warmth

    Figures = NDArray[np.float32]
    Marks = NDArray[np.bool_]

SPELL_H = (3.0, 12.0)
"""Rain of a wet day falls in one spell of so many hours, begun at any hour (our own convention)."""
HIGH_WITH_LOW = 0.6
"""Correlation of a day's high and low with each other (four daily records: 0.2 to 0.8)."""
FORECAST_SWING_C = 2.0
"""Degrees by which a forecast of a few days misses (common practice)."""
SOIL_DAYS = 7
"""Soil follows the mean air of a week (common practice)."""
MM_PER_IN = 25.4
NEVER = 1e6
SUNRISE_H, DAYLIGHT_H = 6.0, 13.0
"""The usual day by which a slot's share of the day's swing is told."""


class DayForecast(NamedTuple):
    """What a forecast says of a day: chance of a wet day (0 to 1), high and low (C), wind (m/s)."""

    wet: float
    high: float
    low: float
    wind: float


@dataclass(frozen=True, slots=True)
class Place:
    """What the weather of a yard is drawn from.

    Attributes
    ----------
    name
        Of the station: yards with the same one have the same rain, whatever their soil.
    dryout, lie
        How its soil dries, and how it lies.
    cool_lat
        Latitude, for the cool half of the year.
    forecast
        Days within reach, by date.
    """

    name: str
    rain: Rain
    warmth: Warmth
    dryout: DryOut
    lat: float
    forecast: Mapping[date, DayForecast]
    lie: Lie = OPEN_GROUND


class Sky:
    """Drawn weather of one place.

    Parameters
    ----------
    days
        Calendar days in a row.
    positions
        Slots of each day.
    """

    def __init__(
        self,
        place: Place,
        days: Sequence[date],
        positions: Sequence[Position],
        futures: int,
        dice: Generator,
    ) -> None:
        self.place, self.days, self.futures = place, days, futures
        self.begin = np.array([_hour(p.begin) for p in positions], np.float32)
        self.end = np.array([_hour(p.end) for p in positions], np.float32)
        self.by_day = [n for n, p in enumerate(positions) if p.shift is Shift.DAY]
        self._draw_rain(dice)
        self._draw_air(dice)
        self.luck = dice.random(futures, np.float32)

    # -- drawing -----------------------------------------------------------------------

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

    # -- measures ----------------------------------------------------------------------

    @cached_property
    def _clock(self) -> tuple[Figures, Figures]:
        """Hours from the first midnight at which each slot begins and ends: (days, positions, 1)."""
        hour = 24 * np.arange(len(self.days), dtype=np.float32)[:, None]
        return (hour + self.begin)[:, :, None], (hour + self.end)[:, :, None]

    def measure(self, of: Measure) -> Figures | None:
        """Return a measure of each slot, broadcastable to (days, positions, futures); None: not drawn."""
        found: Figures | None = getattr(self, f"_{of.name.lower()}", None)
        return found

    @cached_property
    def _rain_rate(self) -> Figures:
        begin, end = self._clock
        falls = (self.rains[:, None] < end) & (self.stops[:, None] > begin)
        rate: Figures = np.where(falls, (self.mm / self.lasts)[:, None], 0)
        return rate

    @cached_property
    def _rain_day(self) -> Figures:
        """What has fallen from midnight to the end of the slot: rain after work is no rain at work."""
        _, end = self._clock
        fallen = np.clip((end - self.rains[:, None]) / self.lasts[:, None], 0, 1)
        out: Figures = fallen * self.mm[:, None]
        return out

    @cached_property
    def _dry_before(self) -> Figures:
        """Hours since the last spell ended; nothing while it rains."""
        begin, _ = self._clock
        last = np.maximum.accumulate(self.stops, axis=0)
        before = np.vstack([np.full((1, self.futures), -NEVER, np.float32), last[:-1]])
        ended = np.where(self.stops[:, None] <= begin, last[:, None], before[:, None])
        out: Figures = np.where(self._rain_rate > 0, 0, begin - ended)
        return out

    @cached_property
    def _dry_after(self) -> Figures:
        """Hours to the next spell; nothing while it rains."""
        _, end = self._clock
        after = np.minimum.accumulate(self.rains[::-1], axis=0)[::-1]
        beyond = np.vstack([after[1:], np.full((1, self.futures), NEVER, np.float32)])
        begun = np.where(self.rains[:, None] >= end, after[:, None], beyond[:, None])
        out: Figures = np.where(self._rain_rate > 0, 0, begun - end)
        return out

    @cached_property
    def _storm_after(self) -> Figures:
        sums = np.zeros_like(self.mm)
        for ahead in (1, 2, 3):
            sums[:-ahead] += self.mm[ahead:]
        return sums[:, None]

    @property
    def _wind(self) -> Figures:
        out: Figures = self.wind[:, None]
        return out

    @cached_property
    def _cold(self) -> Figures:
        return self._air(_swing_shares(self.begin, self.end).min(axis=0))

    @cached_property
    def _hot(self) -> Figures:
        return self._air(_swing_shares(self.begin, self.end).max(axis=0))

    def _air(self, share: Figures) -> Figures:
        return self.low[:, None] + (self.high - self.low)[:, None] * share[None, :, None]

    @cached_property
    def _night(self) -> Figures:
        """The next morning's low."""
        return np.vstack([self.low[1:], self.low[-1:]])[:, None]

    @cached_property
    def _soil(self) -> Figures:
        mean = (self.high + self.low) / 2
        sums = np.cumsum(mean, axis=0, dtype=np.float64)
        sums[SOIL_DAYS:] -= sums[:-SOIL_DAYS].copy()
        days = np.minimum(np.arange(len(self.days)) + 1, SOIL_DAYS)[:, None]
        return (sums / days).astype(np.float32)[:, None]

    @cached_property
    def _drying(self) -> Figures:
        """Hours until the ground is dry, between least and high by the luck of the future."""
        begin, _ = self._clock
        dry_at = np.full((len(self.days) + 1, self.futures), -NEVER, np.float32)
        for n, day in enumerate(self.days):
            dry_at[n + 1] = np.maximum(dry_at[n], self.stops[n] + 24 * self._days_to_dry(n, day))
        over = self.stops[:, None] <= begin
        until = np.where(over, dry_at[1:, None], dry_at[:-1, None])
        out: Figures = np.maximum(0, until - begin)
        return out

    def _days_to_dry(self, n: int, day: date) -> Figures:
        table, cool = self.place.dryout, cool_half(day, self.place.lat)
        out = np.zeros(self.futures, np.float32)
        for band in table.bands:
            shade, covered = self.place.lie
            days = days_to_dry(table, band.rain_in, cool=cool, shade=shade, covered=covered)
            least, usual, high = (float(x) for x in days)
            drawn = triangle(self.luck, least, usual, high)
            out = np.where(self.mm[n] >= float(band.rain_in) * MM_PER_IN, drawn, out)
        return out

    # -- what is lost --------------------------------------------------------------------

    def lost(self, limits: Sequence[Limit], days: int) -> tuple[Marks, dict[Measure, float]]:
        """Return which slots break a limit, (slots, futures), and the share lost by each measure.

        The share is of the day slots of the first so many days.
        """
        shape = (len(self.days), len(self.begin), self.futures)
        marks = np.zeros(shape, bool)
        causes: dict[Measure, float] = {}
        for limit in limits:
            figures = self.measure(limit.measure)
            if figures is None:
                continue
            given = self.measure(limit.given[0]) if limit.given else None
            fresh = breaks(limit, figures, given) & ~marks
            share = float(fresh[:days, self.by_day].mean())
            causes[limit.measure] = causes.get(limit.measure, 0.0) + share
            marks |= fresh
        return marks.reshape(-1, self.futures), causes

    @cached_property
    def warm_days(self) -> Figures:
        """Running sum of days a slab cures: hours from 50 F count, colder ones by share over 32 F."""
        nodes = np.cos((2 * np.arange(1, 5) - 1) * np.pi / 8)
        mean, half = (self.high + self.low) / 2, (self.high - self.low) / 2
        credit = sum(np.clip((mean + half * node) / 10, 0, 1) for node in nodes) / 4
        return np.cumsum(credit, axis=0, dtype=np.float64).astype(np.float32)


def triangle(luck: Figures, least: float, usual: float, high: float) -> Figures:
    """Return figures between least and high, most often near the usual, from luck of 0 to 1."""
    if high <= least:
        return np.full_like(luck, usual)
    peak = (usual - least) / (high - least)
    low = least + np.sqrt(luck * (high - least) * (usual - least))
    up = high - np.sqrt((1 - luck) * (high - least) * (high - usual))
    out: Figures = np.where(luck < peak, low, up).astype(np.float32)
    return out


def _hour(clock: time) -> float:
    return clock.hour + clock.minute / 60


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


def _swing_shares(begin: Figures, end: Figures) -> Figures:
    """Share of the way from low to high at five moments of each slot of a usual day: (5, slots)."""
    curve = np.array(day_curve(0.0, 1.0, 0.0, DAYLIGHT_H))
    hours = np.arange(24) + 0.5
    moments = [begin + (end - begin) * part for part in (0.0, 0.25, 0.5, 0.75, 1.0)]
    shares = [np.interp((moment - SUNRISE_H) % 24, hours, curve) for moment in moments]
    return np.array(shares, np.float32)
