"""The forecast of a yard as it is kept, and shown with its age.

One reading a place. A good answer stays until a better one comes. Without any good answer a page goes by climate, and
says so.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from jobs import models
from jobs.weather.climate import Spot, check_spot
from jobs.weather.errors import BadPlace
from jobs.weather.reading import stale
from jobs.weather.sources import SOURCES, USUAL
from jobs.weather.sources.source import BadAnswer

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from jobs.weather.hours import Alert, Hours

READ_ONCE = 64
"""Answers kept as read in a process, so that a plan does not read them again for each of its yards."""


@dataclass(frozen=True, slots=True)
class Told:
    """What is known of a yard's forecast at a moment.

    Attributes
    ----------
    hours
        The last good forecast, None if there never was one: climate speaks then.
    age_hours
        Since the service made it; negative when a clock is wrong.
    failure
        Why the last try gave nothing; empty if it went well.
    tried
        When the service was asked last, by the yard's clock; None if it never was.
    """

    hours: Hours | None
    alerts: tuple[Alert, ...]
    zone: ZoneInfo
    age_hours: float | None
    failure: str
    credit: str
    tried: datetime | None

    @property
    def stale(self) -> bool:
        """True if it is too old to go by, a clock is wrong, or there is none."""
        return self.hours is None or stale(self.age_hours)


def latest(job: models.Job, now: datetime) -> Told:
    """Return the last good forecast of a job, with its age and the last failure.

    Raises
    ------
    BadPlace
        If the job has no position.
    """
    return _told(reading_of(job), job, now)


def latest_of(jobs: Iterable[models.Job], now: datetime) -> dict[str, Told]:
    """Return the last good forecast of each job by its uid, in one query; without a position, none."""
    keys = {}
    for job in jobs:
        with suppress(BadPlace):
            keys[job.uid] = job, _key(job)
    wanted = {key for _, key in keys.values()}
    found = models.ForecastReading.objects.filter(source=USUAL, key__in=wanted)
    rows = {row.key: row for row in found}
    empty = models.ForecastReading(source=USUAL)
    return {uid: _told(rows.get(key, empty), job, now) for uid, (job, key) in keys.items()}


def _told(row: models.ForecastReading, job: models.Job, now: datetime) -> Told:
    hours: Hours | None = None
    alerts: tuple[Alert, ...] = ()
    failure = row.failure
    if row.body:
        try:
            hours = _hours(row.source, row.body)
            alerts = SOURCES[row.source].read_alerts(row.alerts.encode()) if row.alerts else ()
        except BadAnswer as error:
            failure = failure or error.reason
    usable = hours if hours is not None and hours.usable else None
    zone = _zone(row.zone or job.zone)
    return Told(
        hours=usable,
        alerts=alerts,
        zone=zone,
        age_hours=usable.age_hours(now) if usable else None,
        failure=failure,
        credit=SOURCES[row.source].credit,
        tried=row.tried_at and row.tried_at.astimezone(zone),
    )


@lru_cache(maxsize=READ_ONCE)
def _hours(source: str, body: str) -> Hours:
    """The forecast of an answer; the same answer is read once, and is then the same object."""
    return SOURCES[source].read_hours(body.encode())


def keep_answer(job: models.Job, body: str, now: datetime, *, alerts: str = "") -> None:
    """Keep an answer that was not asked for here: an invented one of the demo.

    Raises
    ------
    BadAnswer
        If it is no forecast.
    """
    row = reading_of(job)
    SOURCES[row.source].read_hours(body.encode())
    if alerts:
        SOURCES[row.source].read_alerts(alerts.encode())
    row.alerts = alerts
    row.body, row.zone, row.good_at, row.failure, row.failures = body, job.zone, now, "", 0
    row.save()


def reading_of(job: models.Job) -> models.ForecastReading:
    """Return the row of a job's place, new and empty if there is none.

    Raises
    ------
    BadPlace
        If the job has no position.
    """
    key = _key(job)
    row = models.ForecastReading.objects.filter(source=USUAL, key=key).first()
    return row or models.ForecastReading(source=USUAL, key=key)


def _key(job: models.Job) -> str:
    """What yards of one street have in common: the position to four decimals."""
    spot = spot_of(job)
    return f"{spot.lat:.4f},{spot.lon:.4f}"


def spot_of(job: models.Job) -> Spot:
    """Return the position of a job, checked.

    Raises
    ------
    BadPlace
        If it has none, or one that is nowhere.
    """
    if job.latitude is None or job.longitude is None:
        raise BadPlace(
            f"{job.name} has no position, so there is no forecast for it",
            remedy="give its latitude and longitude",
        )
    spot = Spot(float(job.latitude), float(job.longitude))
    check_spot(spot)
    return spot


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")
