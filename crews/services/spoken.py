"""Days and hours as people say them, for the lines an event itself carries."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from datetime import date, datetime

NOON = 12
INSTANT = timedelta(microseconds=1)


def said_day(day: date) -> str:
    """Return ``Thu 11 Jun``."""
    return f"{day:%a} {day.day} {day:%b}"


def said_time(moment: datetime) -> str:
    """Return ``7:00 am``, in the zone the moment is told in."""
    return f"{moment.hour % NOON or NOON}:{moment:%M} {'am' if moment.hour < NOON else 'pm'}"


def said_when(start: datetime, end: datetime, *, all_day: bool, zone: str) -> str:
    """Return when an event is, its end exclusive: days, or a day with its hours, in its own zone."""
    place = ZoneInfo(zone)
    first, last = start.astimezone(place), (end - INSTANT).astimezone(place)
    if all_day:
        one = first.date() == last.date()
        return said_day(first) if one else f"{said_day(first)} to {said_day(last)}"
    until = end.astimezone(place)
    if first.date() == until.date():
        return f"{said_day(first)}, {said_time(first)} to {said_time(until)}"
    return f"{said_day(first)}, {said_time(first)} to {said_day(until)}, {said_time(until)}"
