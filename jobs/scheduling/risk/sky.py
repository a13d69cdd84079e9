"""What drawn weather is in each slot, measure by measure, and which slots a work loses to it.

Arrays are (days, positions of the day, futures). Not drawn, for want of figures: humidity (and with it heat index
and evaporation), thunder, and rain under 0.10 in a day.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from jobs.trade.soil import days_to_dry
from jobs.trade.work import Shift
from jobs.weather.climate import cool_half
from jobs.weather.limits import breaks
from jobs.weather.temperature import day_curve

from .days_drawn import NEVER, DrawnDays
from .luck import triangle

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, time

    from numpy.random import Generator
    from numpy.typing import NDArray

    from jobs.scheduling.slots import Position
    from jobs.weather.limits import Limit, Measure

    from .place import Place

    Figures = NDArray[np.float32]
    Marks = NDArray[np.bool_]

SOIL_DAYS = 7
"""Soil follows the mean air of a week (common practice)."""
MM_PER_IN = 25.4
SUNRISE_H, DAYLIGHT_H = 6.0, 13.0
"""The usual day by which a slot's share of the day's swing is told."""


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
        self.daily = DrawnDays(place, days, futures, dice)

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
        falls = (self.daily.rains[:, None] < end) & (self.daily.stops[:, None] > begin)
        rate: Figures = np.where(falls, (self.daily.mm / self.daily.lasts)[:, None], 0)
        return rate

    @cached_property
    def _rain_day(self) -> Figures:
        """What has fallen from midnight to the end of the slot: rain after work is no rain at work."""
        _, end = self._clock
        fallen = np.clip((end - self.daily.rains[:, None]) / self.daily.lasts[:, None], 0, 1)
        out: Figures = fallen * self.daily.mm[:, None]
        return out

    @cached_property
    def _dry_before(self) -> Figures:
        """Hours since the last spell ended; nothing while it rains."""
        begin, _ = self._clock
        last = np.maximum.accumulate(self.daily.stops, axis=0)
        before = np.vstack([np.full((1, self.futures), -NEVER, np.float32), last[:-1]])
        ended = np.where(self.daily.stops[:, None] <= begin, last[:, None], before[:, None])
        out: Figures = np.where(self._rain_rate > 0, 0, begin - ended)
        return out

    @cached_property
    def _dry_after(self) -> Figures:
        """Hours to the next spell; nothing while it rains."""
        _, end = self._clock
        after = np.minimum.accumulate(self.daily.rains[::-1], axis=0)[::-1]
        beyond = np.vstack([after[1:], np.full((1, self.futures), NEVER, np.float32)])
        begun = np.where(self.daily.rains[:, None] >= end, after[:, None], beyond[:, None])
        out: Figures = np.where(self._rain_rate > 0, 0, begun - end)
        return out

    @cached_property
    def _storm_after(self) -> Figures:
        sums = np.zeros_like(self.daily.mm)
        for ahead in (1, 2, 3):
            sums[:-ahead] += self.daily.mm[ahead:]
        return sums[:, None]

    @property
    def _wind(self) -> Figures:
        out: Figures = self.daily.wind[:, None]
        return out

    @cached_property
    def _cold(self) -> Figures:
        return self._air(_swing_shares(self.begin, self.end).min(axis=0))

    @cached_property
    def _hot(self) -> Figures:
        return self._air(_swing_shares(self.begin, self.end).max(axis=0))

    def _air(self, share: Figures) -> Figures:
        return (
            self.daily.low[:, None]
            + (self.daily.high - self.daily.low)[:, None] * share[None, :, None]
        )

    @cached_property
    def _night(self) -> Figures:
        """The next morning's low."""
        return np.vstack([self.daily.low[1:], self.daily.low[-1:]])[:, None]

    @cached_property
    def _soil(self) -> Figures:
        mean = (self.daily.high + self.daily.low) / 2
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
            dry_at[n + 1] = np.maximum(
                dry_at[n], self.daily.stops[n] + 24 * self._days_to_dry(n, day)
            )
        over = self.daily.stops[:, None] <= begin
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
            drawn = triangle(self.daily.luck, least, usual, high)
            out = np.where(self.daily.mm[n] >= float(band.rain_in) * MM_PER_IN, drawn, out)
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
        mean, half = (self.daily.high + self.daily.low) / 2, (self.daily.high - self.daily.low) / 2
        credit = sum(np.clip((mean + half * node) / 10, 0, 1) for node in nodes) / 4
        return np.cumsum(credit, axis=0, dtype=np.float64).astype(np.float32)


def _hour(clock: time) -> float:
    return clock.hour + clock.minute / 60


def _swing_shares(begin: Figures, end: Figures) -> Figures:
    """Share of the way from low to high at five moments of each slot of a usual day: (5, slots)."""
    curve = np.array(day_curve(0.0, 1.0, 0.0, DAYLIGHT_H))
    hours = np.arange(24) + 0.5
    moments = [begin + (end - begin) * part for part in (0.0, 0.25, 0.5, 0.75, 1.0)]
    shares = [np.interp((moment - SUNRISE_H) % 24, hours, curve) for moment in moments]
    return np.array(shares, np.float32)
