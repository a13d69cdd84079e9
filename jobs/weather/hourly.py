"""The temperature of each hour from the highs and lows of days, on the clock on the wall."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from .climate import season_of
from .temperature import day_curve, daylight_hours

if TYPE_CHECKING:
    from datetime import date

    from .temperature import Warmth

NOON = 12.5
"""Hour at which the sun stands highest, between standard and summer time (our own convention)."""


def usual_air(warmth: Warmth, day: date) -> tuple[float, float]:
    """Return the mean low and high of a day, read off between the middles of two months, Celsius."""
    place = season_of(day) - 0.5
    month, part = int(place // 1) % 12, place % 1
    low, high = (
        table[month] * (1 - part) + table[(month + 1) % 12] * part
        for table in (warmth.lows, warmth.highs)
    )
    return low, high


def warm_share(low: float, high: float) -> float:
    """Return the share of a day in which concrete cures, from its low and high in Celsius.

    An hour from 10 C (50 F) on counts whole, one in frost not at all, one between by its share, on a cosine
    from high to low read off at four moments.
    """
    mean, half = (high + low) / 2, (high - low) / 2
    moments = (mean + half * math.cos((2 * n - 1) * math.pi / 8) for n in range(1, 5))
    return sum(min(max(warm / 10, 0.0), 1.0) for warm in moments) / 4


def usual_hours(warmth: Warmth, first: date, days: int, lat: float) -> tuple[float, ...]:
    """Return the usual temperature of each hour of some days from a midnight on, Celsius.

    Each hour belongs to the curve that began at the last sunrise.
    """
    dates = [first + timedelta(days=n) for n in range(-1, days + 1)]
    air = [usual_air(warmth, day) for day in dates]
    hours: list[float] = []
    for n in range(1, days + 1):
        light = daylight_hours(lat, dates[n].timetuple().tm_yday)
        rise = round(NOON - light / 2)
        before = day_curve(*air[n - 1], air[n][0], light)
        today = day_curve(*air[n], air[n + 1][0], light)
        hours += before[24 - rise :] + today[: 24 - rise]
    return tuple(hours)
