"""Asking a service politely over the network: it is told who asks and what is known, and nothing is followed elsewhere."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING

import httpx
from django.conf import settings

from jobs.weather.errors import WeatherError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.weather.sources.source import Source

TIMEOUT = httpx.Timeout(10.0, connect=5.0)
MOST_BYTES = 8_000_000
FRESH = timedelta(hours=1)
"""A good answer is not asked for again sooner, unless the service names a longer time."""
LONGEST_FRESH = timedelta(hours=6)
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
class Answer:
    """A body with what the next question may say about it; no body when nothing changed."""

    body: bytes | None
    etag: str
    last_modified: str
    fresh: timedelta


@contextmanager
def client_of(source: Source) -> Iterator[httpx.Client]:
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


def get(client: httpx.Client, path: str, now: datetime, headers: dict[str, str]) -> Answer:
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
        raise NoForecast(f"the forecast service cannot be reached{_why(error)}") from error
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


def _why(error: Exception) -> str:
    """What a reader can make something of; the rest is in the error it was raised from."""
    return " (too slow)" if isinstance(error, httpx.TimeoutException) else ""
