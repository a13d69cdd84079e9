"""When a slab bears what, by the temperatures it will have: published least times, and strength besides.

Never earlier than the published least without an engineer's release. The slab is taken to be as warm as the air,
uncovered: careful in the cold.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import TYPE_CHECKING

from jobs.trade import concrete
from jobs.trade.concrete import CURE_F, Warm

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobs.trade.facts import SlabLoad

STRIP_H = 24
"""Hours at 50 F and above before vertical forms come off (project specifications after ACI 347/301)."""
FOOT = "foot"
LONGEST_DAYS = 28
"""A cure that takes longer is kept warm instead: blankets or heat."""
DAY_MINUTES = 24 * 60
NIGHT = 240
"""Least minutes between the last event of one day and the first of the next."""
ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class Ready:
    """When something may be done to a slab, in hours from the pour.

    Attributes
    ----------
    key
        ``strip-forms``, ``cured``, ``wall`` or a load of the library.
    least
        Hours of the published least time.
    hours
        Hours in all; None if the temperatures known do not get it there.
    by
        What binds: ``least``, ``strength``, ``warm hours``, ``usual``, or an engineer's ``release``.
    """

    key: str
    least: float
    hours: float | None
    by: str


def cure_dates(
    fahrenheit: Sequence[float],
    loads: Mapping[str, SlabLoad],
    cement: str,
    released: Mapping[str, float] | None = None,
    wall: tuple[float, float] | None = None,
) -> tuple[Ready, ...]:
    """Return when a slab or footing may be stripped, walked on, driven on and built on.

    Parameters
    ----------
    fahrenheit
        Temperature of each hour from the pour on.
    loads
        What may go on it, with least hours and share of strength.
    released
        Hours after the pour from which an engineer allows something, by its key.
    wall
        Of a footing: least hours at 50 F and above before light block work, and hours usual before a wall
        (common practice; the library's wait ``W-wallstart``).

    Raises
    ------
    TradeError
        If nobody said how long such a cement is cured.
    """
    days = concrete.cure_days(cement) * 24
    ready = [
        Ready("strip-forms", STRIP_H, _warm(fahrenheit, STRIP_H), "warm hours"),
        Ready("cured", days, _warm(fahrenheit, days), "warm hours"),
    ]
    ready += [_bearing(load, fahrenheit) for load in loads.values() if load.hours is not None]
    if wall is not None:
        ready.append(_wall(fahrenheit, *wall))
    ready = [_sooner(one, (released or {}).get(one.key)) for one in ready]
    return tuple(sorted(ready, key=lambda it: (it.hours is None, it.hours or 0.0, it.key)))


def _wall(fahrenheit: Sequence[float], least: float, usual: float) -> Ready:
    """A footing carries courses after the usual time, but not before its least in warmth."""
    warm = _warm(fahrenheit, least)
    if warm is None or warm > usual:
        return Ready("wall", least, warm, "warm hours")
    return Ready("wall", least, usual, "usual")


def _sooner(ready: Ready, hours: float | None) -> Ready:
    """What an engineer allows sooner than it would be; what he allows later changes nothing."""
    if hours is None or (ready.hours is not None and ready.hours <= hours):
        return ready
    return replace(ready, hours=hours, by="release")


def _warm(fahrenheit: Sequence[float], wanted: float) -> float | None:
    """Hours until so many of them were at 50 F and above."""
    warm = 0
    for hour, degrees in enumerate(fahrenheit, start=1):
        warm += degrees >= CURE_F
        if warm >= wanted:
            return float(hour)
    return None


def _bearing(load: SlabLoad, fahrenheit: Sequence[float]) -> Ready:
    """Later of the least hours, longer if it is cool meanwhile, and the strength asked for."""
    least = float(load.hours or 0)
    cool = min(fahrenheit[: int(least)], default=0.0) < CURE_F
    if cool and load.cool_hours is not None:
        least = float(load.cool_hours)
    if load.strength is None:
        return Ready(load.key, least, least, "least")
    strong = _strong(fahrenheit, float(load.strength))
    if strong is None:
        return Ready(load.key, least, None, "strength")
    return Ready(load.key, least, max(least, strong), "strength" if strong > least else "least")


def _strong(fahrenheit: Sequence[float], share: float) -> float | None:
    """Hours until a share of the 28-day strength, by equivalent age, read off within the hour."""
    wanted = concrete.days_to(share) * 24
    age = 0.0
    for hour, degrees in enumerate(fahrenheit):
        worth = concrete.equivalent_days([Warm(1.0, degrees)]) * 24
        if worth and age + worth >= wanted:
            return hour + (wanted - age) / worth
        age += worth
    return None


def colder_minutes(warm: Sequence[float], days: float, usual: int) -> tuple[int, ...]:
    """Return by how many minutes a cure is longer than usual, by the day it begins on.

    Parameters
    ----------
    warm
        Share of each day that counts, from 0 in frost to 1 in warmth; it reaches ``LONGEST_DAYS`` beyond
        the days answered for.
    days
        Warm days that it takes, counted from the day of the pour.
    usual
        Minutes that the plan takes as usual.
    """
    had, longer = list(accumulate(warm)), []
    for day in range(len(warm) - LONGEST_DAYS):
        need, last = had[day] + days - ROUNDING, day + LONGEST_DAYS
        over = bisect_left(had, need, day + 1, last)
        part = 1.0 if over == last else (need - had[over - 1]) / warm[over]
        longer.append(max(0, round((over - 1 - day + part) * DAY_MINUTES) - usual))
        if day:
            longer[day] = max(longer[day], longer[day - 1] - NIGHT)
    return tuple(longer) if any(longer) else ()
