"""The forecast of a yard: asked politely over the network, kept, and shown with its age.

One reading a place. A good answer stays until a better one comes; failures are counted, told and waited
out, longer each time. Without any good answer a page goes by climate, and says so.
"""

from __future__ import annotations

import logging
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import httpx
from django.conf import settings

from jobs import clock, models
from jobs.weather.climate import Spot, check_spot
from jobs.weather.errors import BadPlace, WeatherError
from jobs.weather.reading import stale
from jobs.weather.sources import SOURCES, USUAL
from jobs.weather.sources.source import BadAnswer

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from jobs.weather.hours import Alert, Hours
    from jobs.weather.sources.source import Source

log = logging.getLogger(__name__)

TIMEOUT = httpx.Timeout(10.0, connect=5.0)
MOST_BYTES = 8_000_000
READ_ONCE = 64
"""Answers kept as read in a process, so that a plan does not read them again for each of its yards."""
FRESH = timedelta(hours=1)
"""A good answer is not asked for again sooner, unless the service names a longer time."""
LONGEST_FRESH = timedelta(hours=6)
FIRST_PAUSE = timedelta(minutes=5)
LONGEST_PAUSE = timedelta(hours=6)
GONE = frozenset({404, 410})
MOVED = frozenset({301, 302, 307, 308})


class NoForecast(WeatherError):
    """The service could not be asked or did not answer with a forecast.

    ``status`` is the code it answered with, 0 if it did not; ``again`` when it asked to be left alone
    until.
    """

    def __init__(self, reason: str, *, status: int = 0, again: datetime | None = None) -> None:
        super().__init__(reason, remedy="the last good forecast is kept and it is tried again")
        self.status, self.again = status, again


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
    """

    hours: Hours | None
    alerts: tuple[Alert, ...]
    zone: ZoneInfo
    age_hours: float | None
    failure: str
    credit: str

    @property
    def stale(self) -> bool:
        """True if it is too old to go by, a clock is wrong, or there is none."""
        return self.hours is None or stale(self.age_hours)


@dataclass(frozen=True, slots=True)
class Answer:
    """A body with what the next question may say about it; no body when nothing changed."""

    body: bytes | None
    etag: str
    last_modified: str
    fresh: timedelta


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
        with _client(source) as client:
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
    return Told(
        hours=usable,
        alerts=alerts,
        zone=_zone(row.zone or job.zone),
        age_hours=usable.age_hours(now) if usable else None,
        failure=failure,
        credit=SOURCES[row.source].credit,
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


# -- asking --------------------------------------------------------------------------------


def _ask(
    client: httpx.Client, source: Source, row: models.ForecastReading, spot: Spot, now: datetime
) -> None:
    """Ask where, what and which alerts; a grid square that is gone is looked up anew, once."""
    if not row.grid_url:
        _look_up(client, source, row, spot, now)
    try:
        answer = _get(client, row.grid_url, now, _validators(row))
    except NoForecast as error:
        if error.status not in GONE:
            raise
        _look_up(client, source, row, spot, now)
        answer = _get(client, row.grid_url, now, {})
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
        body = _get(client, source.alerts(spot), now, {}).body
        if body is not None:
            source.read_alerts(body)
            row.alerts = body.decode()
    except WeatherError as error:
        log.warning("alerts of %s: %s", row.key, error.reason)


def _look_up(
    client: httpx.Client, source: Source, row: models.ForecastReading, spot: Spot, now: datetime
) -> None:
    body = _get(client, source.where(spot), now, {}).body
    found = source.read_where(body or b"")
    row.grid_url, row.zone, row.etag, row.last_modified = found.path, found.zone, "", ""


def _validators(row: models.ForecastReading) -> dict[str, str]:
    """What lets the service say that nothing has changed; only about a body we still have."""
    if not row.body:
        return {}
    given = {"If-None-Match": row.etag, "If-Modified-Since": row.last_modified}
    return {name: value for name, value in given.items() if value}


@contextmanager
def _client(source: Source) -> Iterator[httpx.Client]:
    """A client that says who asks, and follows nothing to another host."""
    with httpx.Client(
        base_url=settings.FORECAST_URL or source.base,
        headers={"User-Agent": user_agent(), "Accept": source.accept},
        timeout=TIMEOUT,
        follow_redirects=False,
    ) as client:
        yield client


def user_agent() -> str:
    """Return who asks: the service wants a name and a way to reach its owner."""
    try:
        number = version("yardwright")
    except PackageNotFoundError:
        number = "0"
    return f"Yardwright/{number} ({settings.BASE_URL or settings.DEFAULT_FROM_EMAIL})"


def _get(client: httpx.Client, path: str, now: datetime, headers: dict[str, str]) -> Answer:
    """Ask one path, following a move within the same host once.

    Raises
    ------
    NoForecast
        If nothing comes, too much comes, or the answer is not 200 or 304.
    """
    try:
        response, body = _read(client, path, headers)
        if response.status_code in MOVED:
            target = response.url.join(response.headers.get("Location", ""))
            if target.host == response.url.host and target.port == response.url.port:
                response, body = _read(client, str(target), headers)
    except (httpx.HTTPError, httpx.InvalidURL) as error:
        raise NoForecast(f"the forecast service cannot be reached ({_plain(error)})") from error
    return _answer(response, body, now)


def _read(client: httpx.Client, path: str, headers: dict[str, str]) -> tuple[httpx.Response, bytes]:
    parts, size = [], 0
    with client.stream("GET", path, headers=headers) as response:
        for part in response.iter_bytes():
            size += len(part)
            if size > MOST_BYTES:
                raise NoForecast("the forecast service sends far too much")
            parts.append(part)
    return response, b"".join(parts)


def _answer(response: httpx.Response, body: bytes, now: datetime) -> Answer:
    status, heads = response.status_code, response.headers
    validators = (heads.get("ETag", "")[:200], heads.get("Last-Modified", "")[:60])
    if status == httpx.codes.NOT_MODIFIED:
        return Answer(None, *validators, _fresh(heads))
    if status != httpx.codes.OK:
        again = _retry_after(heads.get("Retry-After", ""), now)
        raise NoForecast(f"the forecast service answered {status}", status=status, again=again)
    return Answer(body, *validators, _fresh(heads))


def _fresh(headers: httpx.Headers) -> timedelta:
    """How long an answer is good: what the service says, an hour at least and six at most."""
    for part in headers.get("Cache-Control", "").split(","):
        name, _, number = part.strip().partition("=")
        if name == "max-age" and number.isdigit():
            return min(LONGEST_FRESH, max(FRESH, timedelta(seconds=min(int(number), 10**6))))
    return FRESH


def _retry_after(text: str, now: datetime) -> datetime | None:
    """When the service asked to be asked again: in seconds or as a date."""
    if text.isdigit():
        return now + timedelta(seconds=min(int(text), 10**6))
    try:
        moment = parsedate_to_datetime(text)
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _note_failure(row: models.ForecastReading, error: WeatherError, now: datetime) -> None:
    """Count a failure and wait: five minutes, doubled each time, six hours at most."""
    row.failures = min(row.failures + 1, 1000)
    row.failure = error.reason[:200]
    pause = min(LONGEST_PAUSE, FIRST_PAUSE * 2 ** min(row.failures - 1, 10))
    asked = error.again if isinstance(error, NoForecast) else None
    row.not_before = min(max(now + pause, asked or now), now + LONGEST_PAUSE)
    log.warning("forecast of %s: %s", row.key, error.reason)


def _plain(error: Exception) -> str:
    return "too slow" if isinstance(error, httpx.TimeoutException) else type(error).__name__


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")
