"""Three libraries that share no parser, and our strict reader, asked the same about a feed.

Each answers by UID: start and end (UTC instant, or the day), title, place, notes, status, sequence.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from functools import cache
from zoneinfo import ZoneInfo

import icalendar
import ics
import vobject
from ics.grammar.parse import GRAMMAR

from tests.calendars import read_strictly

GRAMMAR.config.colorize = False
"""Else it wraps the output streams for colours once more with every line it reads."""
GRAMMAR.parse = cache(GRAMMAR.parse)
"""It takes a millisecond a line, and the same event stands in the feeds of its crew, its yard and all."""


def instant(value):
    """A day as it is, a moment in UTC."""
    return value.astimezone(UTC) if isinstance(value, datetime) else value


def by_icalendar(body):
    """With the library that writes it."""
    return {
        str(part["uid"]): (
            instant(part.decoded("dtstart")),
            instant(part.decoded("dtend")),
            str(part["summary"]),
            str(part.get("location", "")),
            str(part.get("description", "")),
            str(part["status"]),
            int(part["sequence"]),
        )
        for part in icalendar.Calendar.from_ical(body).walk("VEVENT")
    }


def by_vobject(body):
    """With one that takes the rules of zones from the feed itself."""

    def text(part, name):
        return getattr(part, name).value if hasattr(part, name) else ""

    return {
        part.uid.value: (
            instant(part.dtstart.value),
            instant(part.dtend.value),
            part.summary.value,
            text(part, "location"),
            text(part, "description"),
            part.status.value,
            int(part.sequence.value),
        )
        for part in vobject.readOne(body.decode()).vevent_list
    }


def by_ics(body):
    """With one that reads by a grammar; it keeps the sequence among what it does not know."""
    events = ics.Calendar(body.decode()).events
    return {
        event.uid: (
            *_days_or_instants(event),
            event.name,
            event.location or "",
            event.description or "",
            event.status,
            int(next(line.value for line in event.extra if line.name == "SEQUENCE")),
        )
        for event in events
    }


def _days_or_instants(event):
    start, end = event.begin.datetime, event.end.datetime
    if not event.all_day:
        return start.astimezone(UTC), end.astimezone(UTC)
    return start.date(), end.date()


def strictly(body):
    """With our own, to the letter."""
    return {
        part.one("UID").text: (
            moment_of(part.one("DTSTART")),
            moment_of(part.one("DTEND")),
            part.one("SUMMARY").text,
            "".join(line.text for line in part.all("LOCATION")),
            "".join(line.text for line in part.all("DESCRIPTION")),
            part.one("STATUS").value,
            int(part.one("SEQUENCE").value),
        )
        for part in read_strictly(body).inside("VEVENT")
    }


def moment_of(line):
    """A date or an instant as written (RFC 5545 3.3.4 and 3.3.5)."""
    if line.parameters == {"VALUE": "DATE"}:
        return date.fromisoformat(line.value)
    if line.value.endswith("Z"):
        return datetime.strptime(line.value, "%Y%m%dT%H%M%S%z")
    zone = ZoneInfo(line.parameters["TZID"])
    return datetime.strptime(line.value, "%Y%m%dT%H%M%S").replace(tzinfo=zone).astimezone(UTC)


READERS = {"icalendar": by_icalendar, "vobject": by_vobject, "ics": by_ics, "strict": strictly}
