"""The forecast of a yard is asked for when it is due; failures are counted, told and waited out, longer each time."""

from __future__ import annotations

import logging
from datetime import timedelta
from typing import TYPE_CHECKING

from django.conf import settings

from jobs import clock, models
from jobs.weather.errors import WeatherError
from jobs.weather.sources import SOURCES

from .asking import NoForecast, client_of, get
from .forecast import reading_of, spot_of

if TYPE_CHECKING:
    from datetime import datetime

    import httpx

    from jobs.weather.climate import Spot
    from jobs.weather.sources.source import Source

log = logging.getLogger(__name__)

FIRST_PAUSE = timedelta(minutes=5)
LONGEST_PAUSE = timedelta(hours=6)
GONE = frozenset({404, 410})


def refresh(job: models.Job, now: datetime) -> models.ForecastReading:
    """Ask for the forecast of a job if it is due, and keep what comes.

    Raises
    ------
    BadPlace
        If the job has no position. Failures of the network are kept in the row, not raised.
    """
    row, spot = reading_of(job), spot_of(job)
    if _left_alone(row, now):
        return row
    source = SOURCES[row.source]
    row.tried_at = now
    try:
        with client_of(source) as client:
            _ask(client, source, row, spot, now)
    except WeatherError as error:
        _note_failure(row, error, now)
    row.save()
    return row


def _left_alone(row: models.ForecastReading, now: datetime) -> bool:
    """True if it is not due, or the day is a pretended one: no service knows that day's weather."""
    if row.not_before is not None and now < row.not_before:
        return True
    return not settings.FORECAST_URL and clock.pretends(models.Company.objects.first())


def _ask(
    client: httpx.Client, source: Source, row: models.ForecastReading, spot: Spot, now: datetime
) -> None:
    """Ask where, what and which alerts; a grid square that is gone is looked up anew, once."""
    if not row.grid_url:
        _look_up(client, source, row, spot, now)
    try:
        answer = get(client, row.grid_url, now, _validators(row))
    except NoForecast as error:
        if error.status not in GONE:
            raise
        _look_up(client, source, row, spot, now)
        answer = get(client, row.grid_url, now, {})
    if answer.body is not None:
        hours = source.read_hours(answer.body)
        if not hours.usable:
            raise NoForecast("the service answered with a forecast that holds no figures")
        row.body, row.etag = answer.body.decode(), answer.etag
        row.last_modified = answer.last_modified
    _ask_alerts(client, source, row, spot, now)
    row.good_at, row.failures, row.failure = now, 0, ""
    row.not_before = now + answer.fresh


def _ask_alerts(
    client: httpx.Client, source: Source, row: models.ForecastReading, spot: Spot, now: datetime
) -> None:
    """Alerts are asked besides: their failure does not spoil a good forecast."""
    try:
        body = get(client, source.alerts(spot), now, {}).body
        if body is not None:
            source.read_alerts(body)
            row.alerts = body.decode()
    except WeatherError as error:
        log.warning("alerts of %s: %s", row.key, error.reason)


def _look_up(
    client: httpx.Client, source: Source, row: models.ForecastReading, spot: Spot, now: datetime
) -> None:
    body = get(client, source.where(spot), now, {}).body
    found = source.read_where(body or b"")
    row.grid_url, row.zone, row.etag, row.last_modified = found.path, found.zone, "", ""


def _validators(row: models.ForecastReading) -> dict[str, str]:
    """What lets the service say that nothing has changed; only about a body we still have."""
    if not row.body:
        return {}
    given = {"If-None-Match": row.etag, "If-Modified-Since": row.last_modified}
    return {name: value for name, value in given.items() if value}


def _note_failure(row: models.ForecastReading, error: WeatherError, now: datetime) -> None:
    """Count a failure and wait: five minutes, doubled each time, six hours at most."""
    row.failures = min(row.failures + 1, 1000)
    row.failure = error.reason[:200]
    pause = min(LONGEST_PAUSE, FIRST_PAUSE * 2 ** min(row.failures - 1, 10))
    asked = error.again if isinstance(error, NoForecast) else None
    row.not_before = min(max(now + pause, asked or now), now + LONGEST_PAUSE)
    log.warning("forecast of %s: %s", row.key, error.reason)
