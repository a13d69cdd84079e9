"""What we write, two independent libraries and our strict reader read back to the same rows."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import icalendar
import vobject
from hypothesis import given
from hypothesis import strategies as st

from crews.ical import EventRow, feed_body
from crews.ical.text import one_line, plain_text
from tests.calendars import read_strictly

ZONES = (
    "America/New_York",
    "America/Chicago",
    "America/Phoenix",
    "Pacific/Honolulu",
    "Europe/Berlin",
)
WORDS = st.text(max_size=120)
MINUTES = st.datetimes(datetime(2020, 1, 1), datetime(2034, 12, 31)).map(  # noqa: DTZ001 (UTC is added below)
    lambda moment: moment.replace(second=0, microsecond=0, tzinfo=UTC)
)


@st.composite
def spans(draw, zone):
    """Start, end and whether in whole days, in a zone."""
    start = draw(MINUTES).astimezone(ZoneInfo(zone))
    if not draw(st.booleans()):
        return start, start.astimezone(UTC) + timedelta(minutes=draw(st.integers(1, 2000))), False
    first = start.date()
    after = first + timedelta(days=draw(st.integers(1, 9)))
    return (
        datetime.combine(first, time(), tzinfo=ZoneInfo(zone)),
        datetime.combine(after, time(), tzinfo=ZoneInfo(zone)),
        True,
    )


@st.composite
def events(draw, number):
    """Any row at all, with a UID of its own."""
    zone = draw(st.sampled_from(ZONES))
    start, end, all_day = draw(spans(zone))
    return EventRow(
        uid=f"event-{number}",
        start=start,
        end=end,
        all_day=all_day,
        zone=zone,
        title=draw(WORDS.filter(one_line)),
        place=draw(WORDS),
        notes=draw(WORDS),
        status=draw(st.sampled_from(["CONFIRMED", "TENTATIVE", "CANCELLED"])),
        sequence=draw(st.integers(0, 2000)),
        created=draw(MINUTES),
        modified=draw(MINUTES),
        free=draw(st.booleans()),
    )


FEEDS = st.integers(1, 4).flatmap(lambda count: st.tuples(*(events(n) for n in range(count))))


def told(row):
    """What a reader must find: days as days, moments as instants, texts cleaned."""
    return (
        row.uid,
        row.first,
        row.last,
        one_line(row.title),
        one_line(row.place),
        plain_text(row.notes),
        row.status,
        row.sequence,
        row.modified,
    )


def instant(value):
    """A day as it is, a moment in UTC."""
    return value.astimezone(UTC) if isinstance(value, datetime) else value


@given(FEEDS)
def test_icalendar_reads_the_same_rows(rows):
    """The library that wrote the values parses the folded octets back to them."""
    calendar = icalendar.Calendar.from_ical(feed_body("Ground crew", rows))
    found = [
        (
            str(part["uid"]),
            instant(part.decoded("dtstart")),
            instant(part.decoded("dtend")),
            str(part["summary"]),
            str(part.get("location", "")),
            str(part.get("description", "")),
            str(part["status"]),
            int(part["sequence"]),
            part.decoded("last-modified"),
        )
        for part in calendar.walk("VEVENT")
    ]
    assert found == [told(row) for row in rows]


@given(FEEDS)
def test_vobject_reads_the_same_rows(rows):
    """A library with another parser, which takes the rules of zones from the feed itself."""
    calendar = vobject.readOne(feed_body("Ground crew", rows).decode())

    def text(part, name):
        return getattr(part, name).value if hasattr(part, name) else ""

    found = [
        (
            part.uid.value,
            instant(part.dtstart.value),
            instant(part.dtend.value),
            part.summary.value,
            text(part, "location"),
            text(part, "description"),
            part.status.value,
            int(part.sequence.value),
            instant(part.last_modified.value),
        )
        for part in calendar.vevent_list
    ]
    assert found == [told(row) for row in rows]


@given(FEEDS)
def test_the_strict_reader_finds_the_same_rows(rows):
    """Line by line after RFC 5545: line ends, folds, octets, escapes, parameters, what is open."""
    calendar = read_strictly(feed_body("Ground crew", rows))
    found = [
        (
            part.one("UID").text,
            moment_of(part.one("DTSTART")),
            moment_of(part.one("DTEND")),
            part.one("SUMMARY").text,
            "".join(line.text for line in part.all("LOCATION")),
            "".join(line.text for line in part.all("DESCRIPTION")),
            part.one("STATUS").value,
            int(part.one("SEQUENCE").value),
            moment_of(part.one("LAST-MODIFIED")),
        )
        for part in calendar.inside("VEVENT")
    ]
    assert found == [told(row) for row in rows]


def moment_of(line):
    """A date or an instant as written (RFC 5545 3.3.4 and 3.3.5)."""
    if line.parameters == {"VALUE": "DATE"}:
        return date.fromisoformat(line.value)
    if line.value.endswith("Z"):
        return datetime.strptime(line.value, "%Y%m%dT%H%M%S%z")
    zone = ZoneInfo(line.parameters["TZID"])
    return datetime.strptime(line.value, "%Y%m%dT%H%M%S").replace(tzinfo=zone).astimezone(UTC)
