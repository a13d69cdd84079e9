"""The one reader of the clock: real time, or the day that TODAY or the demo pretends."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from jobs.models import Company

EVENING = time(18, 0)
"""A pretended day without an hour is looked at after work, when tomorrow is sent out."""


def now(company: Company | None = None) -> datetime:
    """Return the aware instant to plan from, in the company's zone.

    Parameters
    ----------
    company
        The company row if the caller has it; else it is read.
    """
    home = company or Company.objects.first()
    zone = ZoneInfo(home.zone if home else "America/New_York")
    if told := settings.TODAY:
        return _pretended(told, zone)
    if home is not None and home.demo_day is not None:
        return datetime.combine(home.demo_day, EVENING, tzinfo=zone)
    return datetime.now(tz=UTC).astimezone(zone)


def pretends(company: Company | None) -> bool:
    """Return True if the day shown is not the real one: every page then says so."""
    return bool(settings.TODAY) or (company is not None and company.demo_day is not None)


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
