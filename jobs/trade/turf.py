"""Killing an old lawn: how many sprays, how far apart, when it is dead, and what stops a spray.

The label of the product is the law, and spraying for hire takes a licence or supervision: every figure
here gives way to them.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

WAKE_DAYS = 7
"""Days of watering before the first spray (K-State: a week or more)."""
RESPRAY_DAYS = 28
"""Days from spray to spray: two weeks, scalp, two weeks more (K-State turf pages)."""
LEAST_RESPRAY_DAYS = 21
"""Three weeks at least between sprays, or there is no regrowth to land on (K-State)."""
KILL_DAYS: Mapping[int, int] = {1: 14, 2: 14, 3: 7}
"""Days from the last spray to stripping, by the number of sprays: 14 after two (botanic-garden advice of
two to three weeks), 7 after three (regional advice); 14 after one (common practice)."""
SPRAYS: Mapping[str, int] = {
    "annual weeds": 1,
    "tall fescue or mixed lawn": 2,
    "bermuda or other runners": 3,
}
"""Sprays by what grows there: runners were best killed with three (UGA)."""
AIR_F = (60, 90)
"""Air temperature between which is sprayed (label practice, from memory)."""
MOST_WIND_MPH = 10
"""Wind above which spray drifts (label practice, from memory)."""
RAIN_FREE_H = 6
"""Hours without rain after a spray (product label, from memory; the label overrides)."""
SOLARISE_DAYS = (28, 42)
"""Least and usual days under clear sheet in the hottest weeks (UC IPM Pest Notes 74145)."""
GROWING_F: Mapping[str, int] = {"bermuda or other runners": 60}
"""Mean air of a week or month from which a lawn grows, and carries spray to its roots; runners sleep below
60 F (extension, from memory), other turf and weeds below 50."""
LEAST_GROWING_F = 50
HOT_MONTHS = frozenset({6, 7, 8})
"""Months with sun enough to cook the soil, north of the equator (UC IPM: hot season only)."""
SHEET_DAYS = (180, 300)
"""Days for board to rot, usual and with creeping runners (UC Master Gardeners; common practice)."""


SPRAYED = frozenset({"spray-turf-1", "spray-turf-2", "spray-turf-3"})
ONLY_IN: Mapping[str, frozenset[int]] = {"cover-solarise": HOT_MONTHS}
"""Works that only some months of the year are good for."""


class Program(NamedTuple):
    """Dates of a kill: each spray, and the first day the ground may be stripped or planted."""

    sprays: tuple[date, ...]
    free: date

    @property
    def days(self) -> int:
        """Days from the first spray until the ground is free."""
        return (self.free - self.sprays[0]).days


class Moment(NamedTuple):
    """What the air and the grass are like when somebody wants to spray."""

    air_f: float
    wind_mph: float
    rain_after_h: float
    """Hours until the next rain."""
    growing: bool
    """Green and growing, neither dormant nor thirsty."""


def program(first: date, weed: str) -> Program:
    """Return the dates of a kill that begins with a first spray.

    Worked: two sprays from 8 June: 6 July, free 20 July, 42 days. Three: 6 July, 3 August, free
    10 August, 63 days.

    Raises
    ------
    TradeError
        If it is not known how such a lawn is killed.
    """
    if weed not in SPRAYS:
        raise TradeError(
            f"how {weed!r} is killed is not known", remedy=f"use one of {', '.join(SPRAYS)}"
        )
    count = SPRAYS[weed]
    sprays = tuple(first + timedelta(days=RESPRAY_DAYS * n) for n in range(count))
    return Program(sprays, sprays[-1] + timedelta(days=KILL_DAYS[count]))


def first_spray(watered_from: date) -> date:
    """Return the first day a lawn watered from some day may be sprayed."""
    return watered_from + timedelta(days=WAKE_DAYS)


def complete(sprays: Sequence[date], weed: str) -> bool:
    """Return True if so many sprays, far enough apart, are a whole program for such a lawn.

    One strong spray is not: it left six runners in ten of bermuda alive (UGA note of 2018).
    """
    return len(sprays) >= SPRAYS.get(weed, max(KILL_DAYS)) and not too_soon(sprays)


def too_soon(sprays: Sequence[date]) -> tuple[date, ...]:
    """Return the sprays that come less than three weeks after the one before."""
    return tuple(b for a, b in pairwise(sprays) if (b - a).days < LEAST_RESPRAY_DAYS)


def stops_spray(moment: Moment) -> tuple[str, ...]:
    """Return what speaks against spraying, in plain words; nothing if it may be done.

    The product's label overrules each of these, either way.
    """
    cold, hot = AIR_F
    stops = (
        (moment.air_f < cold, "too cold"),
        (moment.air_f > hot, "too hot"),
        (moment.wind_mph > MOST_WIND_MPH, "too windy"),
        (moment.rain_after_h < RAIN_FREE_H, "rain too soon after"),
        (not moment.growing, "the grass is not growing"),
    )
    return tuple(why for stop, why in stops if stop)


def solarised(laid: date) -> tuple[date, date]:
    """Return the least and usual day a clear sheet laid in the hot season may come off.

    Raises
    ------
    TradeError
        Out of the hot season: the sun does not cook the soil.
    """
    if laid.month not in HOT_MONTHS:
        raise TradeError(
            f"a clear sheet laid on {laid:%d %b} does not get hot enough",
            remedy="lay it from June to August, or kill the lawn another way",
        )
    least, usual = SOLARISE_DAYS
    return laid + timedelta(days=least), laid + timedelta(days=usual)


def sheet_rotted(laid: date, *, runners: bool = False) -> date:
    """Return the day board and mulch may be planted without cutting through."""
    usual, long = SHEET_DAYS
    return laid + timedelta(days=long if runners else usual)
