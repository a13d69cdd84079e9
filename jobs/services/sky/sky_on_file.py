"""What the forecast on file said of the days that somebody says are lost: kept with them, since readings are written over."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from jobs.models.cause import WEATHER
from jobs.services.telling.speech import say_date, say_time
from jobs.weather.reading import read_day

from .forecast import latest_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from jobs import models

    from .forecast import Told

MM_PER_IN = 25.4
MOST_DAYS = 10
"""Days of a loss that are looked up; no forecast reaches farther."""


def sky_of(row: models.LostTime, jobs: Iterable[models.Job], now: datetime) -> dict[str, Any]:
    """Return by yard and day what the forecast said, with its source and the hour it was made.

    Days it says nothing of are left out; so are losses that weather is not the cause of.
    """
    if row.cause not in WEATHER:
        return {}
    length = min((row.last - row.first).days + 1, MOST_DAYS)
    days = [row.first + timedelta(days=n) for n in range(length)]
    told = latest_of(jobs, now)
    found = {uid: dict(_days(known, days)) for uid, known in told.items()}
    return {uid: by_day for uid, by_day in found.items() if by_day}


def _days(told: Told, days: Iterable[date]) -> Iterator[tuple[str, dict[str, Any]]]:
    if told.hours is None:
        return
    for day in days:
        read = read_day(told.hours, day, told.zone)
        if read.pop_pct is None and read.rain_mm is None:
            continue
        yield (
            day.isoformat(),
            {
                "pop_pct": read.pop_pct,
                "rain_mm": read.rain_mm,
                "gust_kmh": read.gust_max_kmh,
                "made_at": told.hours.updated.isoformat() if told.hours.updated else "",
                "credit": told.credit,
            },
        )


def say_on_file(row: models.LostTime, job: models.Job, day: date) -> str:
    """Return what was on file of a day in a yard: what was measured, and the forecast with source and hour."""
    kept = (row.sky or {}).get(job.uid, {}).get(day.isoformat())
    parts = []
    if row.rain_in is not None:
        parts.append(f"{row.rain_in.normalize():f} in of rain in all, as {row.by} said")
    if kept is None:
        parts.append("no forecast on file")
        return "; ".join(parts)
    said = []
    if kept["pop_pct"] is not None:
        said.append(f"{kept['pop_pct']:.0f} % chance of rain")
    if kept["rain_mm"] is not None:
        said.append(f"{kept['rain_mm'] / MM_PER_IN:.2f} in")
    made = ""
    if kept["made_at"]:
        moment = datetime.fromisoformat(kept["made_at"]).astimezone(ZoneInfo(job.zone))
        made = f" of {say_date(moment.date())} {say_time(moment)}"
    parts.append(f"forecast{made}: {', '.join(said)} ({kept['credit']})")
    return "; ".join(parts)
