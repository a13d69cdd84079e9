"""The one reader of the clock: real time, or the day that TODAY or the demo pretends.

It also keeps the day that days are told on, by which words know whose year goes without saying.
"""

from __future__ import annotations

from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from jobs.models import Company

if TYPE_CHECKING:
    from collections.abc import Iterator

EVENING = time(18, 0)
"""A pretended day without an hour is looked at after work, when tomorrow is sent out."""
EVER = date.min
"""What is kept is told on no day in particular: it shares its year with none, so that every day in it carries its own."""

_TOLD_ON: ContextVar[date | None] = ContextVar("told_on", default=None)


def now(company: Company | None = None) -> datetime:
    """Return the aware instant to plan from, in the company's zone; what is told from here on is told on its day.

    Parameters
    ----------
    company
        The company row if the caller has it; else it is read.
    """
    moment = _read(company or Company.objects.first())
    _TOLD_ON.set(moment.date())
    return moment


def told_on() -> date:
    """Return the day that days are told on: that of the last reading, which is made if there was none."""
    return _TOLD_ON.get() or now().date()


@contextmanager
def telling_on(day: date) -> Iterator[None]:
    """Tell days as they read on another day: beside an event of next year, or ``EVER`` where words are kept."""
    token = _TOLD_ON.set(day)
    try:
        yield
    finally:
        _TOLD_ON.reset(token)


def forget(**signal: object) -> None:  # noqa: ARG001 (sent by Django, as each request begins)
    """Let the next who tells a day read the clock: a server's thread outlives the year."""
    _TOLD_ON.set(None)


def pretends(company: Company | None) -> bool:
    """Return True if the day shown is not the real one: every page then says so."""
    return bool(settings.TODAY) or (company is not None and company.demo_day is not None)


def _read(home: Company | None) -> datetime:
    zone = ZoneInfo(home.zone if home else "America/New_York")
    if told := settings.TODAY:
        return _pretended(told, zone)
    if home is not None and home.demo_day is not None:
        return datetime.combine(home.demo_day, EVENING, tzinfo=zone)
    return datetime.now(tz=UTC).astimezone(zone)


def _pretended(told: str, zone: ZoneInfo) -> datetime:
    try:
        if "T" in told:
            moment = datetime.fromisoformat(told)
            return moment if moment.tzinfo else moment.replace(tzinfo=zone)
        return datetime.combine(date.fromisoformat(told), EVENING, tzinfo=zone)
    except ValueError:
        raise ImproperlyConfigured(
            f"TODAY={told} is not a date: write 2026-06-16 or 2026-06-16T18:00"
        ) from None
