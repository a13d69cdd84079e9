"""The body of a calendar feed: rows in, octets out, after RFC 5545 and RFC 7986."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, vText

from .fold import fold_lines
from .text import one_line, plain_text
from .zones import doubtful, timezone_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

PRODUCT = "-//Yardwright//Calendar feed 1.0//EN"
READ_AGAIN_AFTER = timedelta(hours=1)
STATUSES = ("CONFIRMED", "TENTATIVE", "CANCELLED")
COLOURS = (
    "steelblue",
    "olivedrab",
    "chocolate",
    "teal",
    "slateblue",
    "goldenrod",
    "firebrick",
    "seagreen",
)
"""Names of CSS Color Module Level 3, as RFC 7986 5.9 asks for."""


@dataclass(frozen=True, slots=True)
class EventRow:
    """One event as stored. ``end`` is exclusive; all-day events span local midnights of ``zone``.

    ``free`` events don't block the time of whoever reads them; cancelled ones never do.

    Raises
    ------
    ValueError
        If the UID or title is empty, an instant has no zone, the end is not after the start (for
        all-day events, not on a later day), the status is unknown or the sequence negative.
    """

    uid: str
    start: datetime
    end: datetime
    all_day: bool
    zone: str
    title: str
    place: str
    notes: str
    status: str
    sequence: int
    created: datetime
    modified: datetime
    free: bool = False

    def __post_init__(self) -> None:
        if not self.uid or not one_line(self.title):
            raise ValueError(f"event {self.uid!r} needs a UID and a title")
        if any(m.tzinfo is None for m in (self.start, self.end, self.created, self.modified)):
            raise ValueError(f"event {self.uid}: every instant needs a time zone")
        if self.last <= self.first:
            raise ValueError(f"event {self.uid} ends at {self.end}, not after {self.start}")
        if self.status not in STATUSES or self.sequence < 0:
            raise ValueError(f"event {self.uid}: status {self.status}, sequence {self.sequence}")

    @property
    def first(self) -> date | datetime:
        """First day of an all-day event, else the instant of its start in UTC."""
        return self._point(self.start)

    @property
    def last(self) -> date | datetime:
        """Day after an all-day event, else the instant of its end in UTC."""
        return self._point(self.end)

    def _point(self, moment: datetime) -> date | datetime:
        instant = moment.astimezone(UTC)
        return instant.astimezone(ZoneInfo(self.zone)).date() if self.all_day else instant


def feed_body(name: str, rows: Sequence[EventRow], *, colour: str = COLOURS[0]) -> bytes:
    """Return the octets of a feed.

    Parameters
    ----------
    name
        Name of the calendar as phones list it.
    rows
        At least one event: an empty calendar looks broken on a phone.
    colour
        One of the colour names of CSS.

    Raises
    ------
    ValueError
        If there is no event.
    """
    if not rows:
        raise ValueError(f"calendar {name!r} has no event")
    calendar = _frame(one_line(name), colour)
    for zone, years in sorted(_years_of_zones(rows).items()):
        calendar.add_component(timezone_of(zone, min(years), max(years)))
    for row in rows:
        calendar.add_component(_event(row))
    return fold_lines(str(line) for line in calendar.content_lines(sorted=False) if line)


def _frame(name: str, colour: str) -> Calendar:
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODUCT)
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", vText(name))
    calendar.add("x-wr-calname", vText(name))
    calendar.add("refresh-interval", READ_AGAIN_AFTER, parameters={"value": "DURATION"})
    calendar.add("x-published-ttl", "PT1H")
    calendar.add("color", colour)
    return calendar


def _years_of_zones(rows: Iterable[EventRow]) -> dict[str, set[int]]:
    """The years for which each zone that is written must be right."""
    years: dict[str, set[int]] = {}
    for row in rows:
        if not row.all_day and not _in_utc(row):
            years.setdefault(row.zone, set()).update((row.start.year, row.end.year))
    return years


def _in_utc(row: EventRow) -> bool:
    """Where a local time would not exist or be meant twice, both ends are told in UTC.

    RFC 5545 3.3.5 gives such times a meaning, but readers take them either way.
    """
    zone = ZoneInfo(row.zone)
    return row.zone == "UTC" or doubtful(row.start, zone) or doubtful(row.end, zone)


def _event(row: EventRow) -> Event:
    event = Event()
    event.add("uid", row.uid)
    event.add("dtstamp", row.modified.astimezone(UTC))
    event.add("last-modified", row.modified.astimezone(UTC))
    event.add("created", row.created.astimezone(UTC))
    event.add("sequence", row.sequence)
    event.add("dtstart", _written(row, row.first))
    event.add("dtend", _written(row, row.last))
    event.add("summary", one_line(row.title))
    if place := one_line(row.place):
        event.add("location", place)
    if notes := plain_text(row.notes):
        event.add("description", notes)
    event.add("status", row.status)
    event.add("transp", "TRANSPARENT" if row.free or row.status == "CANCELLED" else "OPAQUE")
    return event


def _written(row: EventRow, point: date | datetime) -> date | datetime:
    """A day as it is; an instant in the event's zone, or in UTC where local time is doubtful."""
    if not isinstance(point, datetime) or _in_utc(row):
        return point
    return point.astimezone(ZoneInfo(row.zone))
