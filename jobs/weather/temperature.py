"""Temperature of a day and of its hours: means of the month, swing from day to day, curve of the day."""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, exp, pi, sin, tan
from typing import TYPE_CHECKING, NamedTuple

from .climate import MONTH_DAYS
from .errors import WeatherError

if TYPE_CHECKING:
    from collections.abc import Sequence

HEAT_LAG_H = 1.86
NIGHT_DECAY = 2.20
RISE_LAG_H = -0.17
"""Hours from noon to the highest temperature, decay by night, hours from sunrise to the lowest, for air at
1.5 m (Parton and Logan 1981, Agricultural Meteorology 23, 205-216, from memory)."""
CUSP_KM = 500.0
"""Kilometres over which the weight of a place's swings falls to 1/e (ours)."""


class Swing(NamedTuple):
    """Standard deviation of daily highs and lows within a month, C, and their day-to-day correlation."""

    high: float
    low: float
    memory: float


@dataclass(frozen=True, slots=True)
class Warmth:
    """Highs, lows (C), swings and mean wind (m/s) of twelve months, January first."""

    highs: tuple[float, ...]
    lows: tuple[float, ...]
    swings: tuple[Swing, ...]
    winds: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuse other than twelve months."""
        lengths = {len(self.highs), len(self.lows), len(self.swings), len(self.winds)}
        if lengths != {len(MONTH_DAYS)}:
            raise WeatherError("a year has twelve months", remedy="give figures for each")


def usual_swings(known: Sequence[tuple[float, Sequence[Swing]]]) -> tuple[Swing, ...]:
    """Return swings at a place: those of the known places, nearer ones counting more.

    Parameters
    ----------
    known
        Kilometres to each place with counted swings, and its twelve months.
    """
    if not known:
        raise WeatherError("no place's swings are known", remedy="load the climate tables")
    weights = [exp(-km / CUSP_KM) + 1e-6 for km, _ in known]
    total = sum(weights)
    months = []
    for m in range(len(MONTH_DAYS)):
        mean = [
            sum(w * place[m][part] for w, (_, place) in zip(weights, known, strict=True)) / total
            for part in range(3)
        ]
        months.append(Swing(*mean))
    return tuple(months)


# -- the sun (FAO Irrigation and Drainage Paper 56, chapter 3) -------------------------------


def declination(day: int) -> float:
    """Return the sun's declination, radians (eq. 24)."""
    return 0.409 * sin(2 * pi * day / 365 - 1.39)


def sunset_angle(lat: float, day: int) -> float:
    """Return the hour angle of sunset, radians (eq. 25); latitude in degrees."""
    cosine = -tan(lat * pi / 180) * tan(declination(day))
    return acos(max(-1.0, min(1.0, cosine)))


def daylight_hours(lat: float, day: int) -> float:
    """Return hours from sunrise to sunset (eq. 34)."""
    return 24 / pi * sunset_angle(lat, day)


# -- the day's curve -----------------------------------------------------------------------


def day_curve(low: float, high: float, next_low: float, daylight: float) -> tuple[float, ...]:
    """Return the temperature in the middle of each hour from sunrise to the next, 24 figures.

    A sine from the low just after sunrise over the high to sunset, then an exponential fall to the next
    low (Parton and Logan 1981).

    Parameters
    ----------
    low, high, next_low
        Lowest and highest of the day, lowest of the next morning; any one unit.
    daylight
        Hours from sunrise to sunset.
    """
    light = max(4.0, min(20.0, daylight))
    evening = low + (high - low) * sin(pi * (light - RISE_LAG_H) / (light + 2 * HEAT_LAG_H))
    curve = []
    for hour in range(24):
        since = hour + 0.5
        if since <= light:
            part = max(0.0, since - RISE_LAG_H)
            curve.append(low + (high - low) * sin(pi * part / (light + 2 * HEAT_LAG_H)))
        else:
            curve.append(_night(evening, next_low, since - light, 24 - light))
    return tuple(curve)


def _night(evening: float, low: float, since: float, night: float) -> float:
    """Exponential fall that reaches the low at sunrise."""
    end = exp(-NIGHT_DECAY)
    base = (low - evening * end) / (1 - end)
    return base + (evening - base) * exp(-NIGHT_DECAY * since / night)
