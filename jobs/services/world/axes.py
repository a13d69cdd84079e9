"""The days and slots a plan is laid out on, on each yard's own clock, and those on which a yard is closed."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import cache, partial
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from crews.services.day_hours import HoursBook, read_book
from jobs import models
from jobs.scheduling.calendars import days_mask
from jobs.scheduling.slots import Position, SlotAxis, day_of, make_axis
from jobs.weather.daylight import dark_from

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence


def first_day(
    now: datetime, activities: Iterable[models.Activity], jobs: Mapping[int, models.Job]
) -> date:
    """Return the day an axis begins with: the first thing that happened, or yesterday, on a Monday of the yard's clock."""
    begun = [
        row.started_at.astimezone(ZoneInfo(jobs[row.job_id].zone)).date()
        for row in activities
        if row.started_at
    ]
    first = min([now.date() - timedelta(days=1), *begun])
    return first - timedelta(days=first.weekday())


def axes_of(
    jobs: Sequence[models.Job], first: date, days: int, book: HoursBook
) -> dict[str, SlotAxis]:
    """Return one axis per time zone; evenings begin when it is dark where the zone's first job lies."""
    axes: dict[str, SlotAxis] = {}
    for job in jobs:
        if job.zone not in axes:
            axes[job.zone] = _axis(job, first, days, book)
    return axes or {"UTC": make_axis(first, days, ZoneInfo("UTC"), hours=_times(book))}


def axis_of(job: models.Job, first: date, days: int) -> SlotAxis:
    """Return the slots of some days on a yard's own clock, as the company works them."""
    return axes_of([job], first, days, read_book())[job.zone]


def _times(book: HoursBook) -> Callable[[date], tuple[Position, ...]]:
    """Return the times of slots of a day; days alike are laid out once."""
    laid_out = cache(day_of)
    return lambda day: laid_out(*book.on(day))


def _axis(job: models.Job, first: date, days: int, book: HoursBook) -> SlotAxis:
    zone = ZoneInfo(job.zone)
    evening = None
    if job.latitude is not None and job.longitude is not None:
        evening = partial(
            dark_from, latitude=float(job.latitude), longitude=float(job.longitude), zone=zone
        )
    return make_axis(first, days, zone, evening=evening, hours=_times(book))


def closed_days(jobs: Sequence[models.Job], axis: SlotAxis) -> dict[int, int]:
    """Return a bitmap of each job's no-work days, and of its pause where that has a beginning."""
    closed: dict[int, int] = {}
    for job in jobs:
        if job.paused_from and job.paused_until and job.paused_until > axis.first:
            last = job.paused_until - timedelta(days=1)
            closed[job.pk] = days_mask(axis, job.paused_from, last)
    for row in models.NoWorkDay.objects.filter(job__in=jobs, last__gte=axis.first):
        mask = days_mask(axis, row.first, row.last)
        closed[row.job_id] = closed.get(row.job_id, 0) | mask
    return closed
