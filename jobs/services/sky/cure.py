"""The cure of a pour told as dates: when it may be stripped, walked on, driven on and built on, and how we got it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from jobs.scheduling.sky.cure_dates import cure_dates
from jobs.scheduling.sky.limits import fahrenheit
from jobs.services.numbers.library import current_library
from jobs.services.scope.releases import released_by, released_dates
from jobs.weather.hourly import usual_hours
from jobs.weather.hours import Span, minute

from .climate import climate_of
from .forecast import latest

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from jobs import models

WALL_START = "W-wallstart"
DAYS = 60
"""How far ahead a cure is followed."""


@dataclass(frozen=True, slots=True)
class CureDate:
    """One thing that may be done from a moment on.

    Attributes
    ----------
    least
        Earliest by the published least time alone.
    at
        Earliest in the warmth expected; None if it does not get there by itself within sixty days.
    by
        ``least``, ``strength``, ``warm hours``, ``usual`` or ``release``: what binds.
    released
        Who allows it sooner than is published; empty where nobody does.
    """

    key: str
    name: str
    least: datetime
    at: datetime | None
    by: str
    released: str = ""


@dataclass(frozen=True, slots=True)
class CureTold:
    """Dates in order, and what they were made from.

    Attributes
    ----------
    forecast_hours
        Hours of the cure that the forecast speaks for; the rest is the usual air of the place.
    coldest, warmest
        Fahrenheit, over the first week.
    """

    dates: tuple[CureDate, ...]
    place: str
    forecast_hours: int
    coldest: float
    warmest: float


NAMES = {
    "strip-forms": "Strip the forms",
    "cured": "Cured: build on it",
    "wall": "Start the wall on it; no backfill before it is cured",
}
HOURS_A_DAY = 24


def tell_cure(
    job: models.Job,
    poured: datetime,
    now: datetime,
    *,
    cement: str,
    footing: bool = False,
    releases: Iterable[models.Release] = (),
) -> CureTold:
    """Return when what was poured at a moment is ready for what, an engineer's releases counted.

    Parameters
    ----------
    footing
        A wall is to stand on it, and its date is told, too.

    Raises
    ------
    BadPlace
        If the job has no position and no climate was chosen for it.
    TradeError
        If nobody said how long such a cement is cured.
    """
    air, known = _air(job, poured, now)
    library = current_library()
    loads, start = library.loads, library.waits[WALL_START]
    wall = (float(start.least) * HOURS_A_DAY, float(start.usual) * HOURS_A_DAY)
    released = released_dates(releases)
    sooner = {key: float(row.hours) for key, row in released.items()}
    dates = tuple(
        CureDate(
            key=ready.key,
            name=NAMES.get(ready.key) or loads[ready.key].name,
            least=poured + timedelta(hours=ready.least),
            at=None if ready.hours is None else poured + timedelta(hours=ready.hours),
            by=ready.by,
            released=released_by(released[ready.key]) if ready.by == "release" else "",
        )
        for ready in cure_dates(air, loads, cement, sooner, wall if footing else None)
    )
    week = air[: 7 * 24]
    return CureTold(dates, climate_of(job).near.climate.label, known, min(week), max(week))


def _air(job: models.Job, poured: datetime, now: datetime) -> tuple[list[float], int]:
    """Fahrenheit of each hour from the pour on: by forecast where it reaches, else the usual."""
    climate, told = climate_of(job), latest(job, now)
    local = poured.astimezone(ZoneInfo(job.zone))
    lat = float(job.latitude or climate.near.climate.spot.lat)
    usual = usual_hours(climate.warmth, local.date(), DAYS + 1, lat)[local.hour :]
    begin, air, known = minute(poured), [], 0
    for hour, celsius in enumerate(usual[: DAYS * 24]):
        span = Span(begin + hour * 60, begin + (hour + 1) * 60)
        said = told.hours.temperature.least(span) if told.hours and not told.stale else None
        known += said is not None
        air.append(fahrenheit(celsius if said is None else said))
    return air, known
