"""Reads which working days of a yard count as lost to weather, and by how many a month exceeds its contract."""

from __future__ import annotations

from datetime import timedelta
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.models.cause import WEATHER
from jobs.services.causes.lose_days import DAY_SLOTS
from jobs.services.sky.sky_on_file import say_on_file
from jobs.services.telling.speech import say_date
from jobs.services.world.losses import mask_on
from jobs.weather.lost_days import excusable, is_weather_day

from .frame import closed_days

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date


class WeatherDay(NamedTuple):
    """A day on which weather took at least half of the work."""

    on: date
    day: str
    cause: str
    why: str
    lost: str
    sky: str
    """What was on file of it: measured, and forecast with its source and hour."""


class MonthRow(NamedTuple):
    """Weather days of a month, how many the contract expects, and how many are beyond them."""

    month: str
    lost: int
    allowed: int
    beyond: int


def weather_days(job: models.Job) -> tuple[WeatherDay, ...]:
    """Return working days that count as weather days: at least half of the slots lost to this yard."""
    rows = models.LostTime.objects.filter(
        taken_back_at=None, cause__in=WEATHER, crew=None, activity=None
    )
    here = [row for row in rows.order_by("first", "pk") if row.job_id in (None, job.pk)]
    found: dict[date, list[tuple[models.LostTime, int]]] = {}
    for row in here:
        for day in _days_of(row):
            found.setdefault(day, []).append((row, mask_on(row, day)))
    closed = closed_days(min(found), max(found)) if found else frozenset()
    days = []
    for day, parts in sorted(found.items()):
        lost = _lost(mask for _, mask in parts)
        if day not in closed and is_weather_day(lost, len(DAY_SLOTS)):
            days.append(_told(parts[0][0], job, day, lost))
    return tuple(days)


def _days_of(row: models.LostTime) -> Iterable[date]:
    count = (row.last - row.first).days + 1
    return (row.first + timedelta(days=offset) for offset in range(count))


def _lost(masks: Iterable[int]) -> int:
    """Slots lost by any of some losses."""
    lost = 0
    for mask in masks:
        lost |= mask
    return lost.bit_count()


def _told(row: models.LostTime, job: models.Job, day: date, lost: int) -> WeatherDay:
    """Ground that dries has its rain's word for it."""
    parts = f"{lost} of {len(DAY_SLOTS)} parts of the day"
    sky = "" if row.dries_id else say_on_file(row, job, day)
    return WeatherDay(day, say_date(day), row.get_cause_display(), row.why, parts, sky)


def months_of(days: Iterable[WeatherDay], allowed: Sequence[int]) -> tuple[MonthRow, ...]:
    """Return the months with weather days against a contract's allowance; none without one.

    Parameters
    ----------
    allowed
        Days expected in each month, January first.
    """
    if not allowed:
        return ()
    rows = []
    for (_, month), some in groupby(days, key=lambda day: (day.on.year, day.on.month)):
        them = list(some)
        lost, due = len(them), allowed[month - 1]
        rows.append(MonthRow(f"{them[0].on:%B %Y}", lost, due, excusable(lost, due)))
    return tuple(rows)
