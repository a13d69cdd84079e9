"""Hard cases that every reader must understand alike: text, clocks, ends of February.

RFC 5545: 3.3.11 (text), 3.1 (folds), 3.3.5 (local times that do not exist or happen twice), 3.6.1
(an all-day event ends on the next day). Dates of the changes of clocks are of the IANA data.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from crews.ical import feed_body
from crews.ical.text import one_line, plain_text
from tests.calendars import event, read_strictly
from tests.readers import READERS

TEXTS = {
    "commas": "Stone, sand, and one, two, three",
    "semicolons": "Gate on the left; latch sticks; ring first",
    "both, and a backslash before neither": "a,b;c\\d,;",
    "emoji": "Pour 🧱🚜 at 7 👷🏽‍♀️ ☔",
    "300 letters": "Lay the flagstone of the upper terrace " * 7
    + "and then the steps, all of them",
    "300 letters of three octets": "ж" * 100 + "石" * 200,
    "right to left": "רח׳ הברוש 12, חצר אחורית؛ شارع السرو ١٢",
    "quotes and colons": 'The "dry" wall: 12 ft: 6 in',
    "what looks like a property": "END:VEVENT BEGIN:VALARM DTSTART:19700101",
    "markup": '<b onclick="x">yard</b> &amp; {{ user }} %s %(x)s',
    "an accent of its own letter": "Ame\u0301lie's pergola",
}
PARAMETERS = {"argvalues": TEXTS.values(), "ids": TEXTS.keys()}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("text", **PARAMETERS)
def test_every_text_arrives_as_it_was_written(reader, text):
    """As title, place and notes of one event, and as the name of the calendar."""
    body = feed_body(text, [event(title=text, place=text, notes=f"{text}\n{text}")])
    (found,) = READERS[reader](body).values()
    assert found[2:5] == (text, text, f"{text}\n{text}")
    assert read_strictly(body).one("NAME").text == text


HOSTILE = {
    "another event": "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:evil",
    "control characters": "a\x00b\x07c\x1bd\x7fe\x9ff",
    "breaks of every kind": "a\rb\nc\x0bd\x0ce\x85f\u2028g\u2029h",
    "half a letter": "a\ud83db",
    "a byte order mark": "\ufeffa",
    "turned around": "a\u202ecod.exe\u202c",
    "only blanks around": "  a\t ",
}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_text_is_only_text(reader, text):
    """In every field that reaches a feed: one event in, one event out, nothing else about it."""
    body = feed_body(text, [event(uid="good", title=text, place=text, notes=text)])
    found = READERS[reader](body)
    assert list(found) == ["good"]
    assert found["good"][2:5] == (one_line(text), one_line(text), plain_text(text))


CHANGES = {
    "New York forward": ("America/New_York", date(2026, 3, 8)),
    "New York back": ("America/New_York", date(2026, 11, 1)),
    "Berlin forward": ("Europe/Berlin", date(2026, 3, 29)),
    "Berlin back": ("Europe/Berlin", date(2026, 10, 25)),
    "Lord Howe forward": ("Australia/Lord_Howe", date(2026, 10, 4)),
    "Lord Howe back": ("Australia/Lord_Howe", date(2026, 4, 5)),
}
"""Two hemispheres, and one zone whose clocks change by half an hour."""


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(("zone", "day"), CHANGES.values(), ids=CHANGES.keys())
class TestClocksChange:
    """The day on which the clocks change, its eve, and every half hour of its night."""

    def test_work_before_and_after_the_change(self, reader, zone, day):
        """Seven to eleven on the eve, on the day, and the day after: told with hours of the yard."""
        rows = [
            event(uid=f"d{n}", zone=zone, start=at(zone, day, n, 7), end=at(zone, day, n, 11))
            for n in (-1, 0, 1)
        ]
        found = READERS[reader](feed_body("Ground crew", rows))
        assert {uid: told[:2] for uid, told in found.items()} == {
            row.uid: (row.start.astimezone(UTC), row.end.astimezone(UTC)) for row in rows
        }

    def test_every_half_hour_of_the_night(self, reader, zone, day):
        """Instants, from midnight for six hours, each half an hour long: none is read an hour off."""
        midnight = at(zone, day, 0, 0).astimezone(UTC)
        half = timedelta(minutes=30)
        rows = [
            event(uid=f"n{n}", zone=zone, start=midnight + n * half, end=midnight + (n + 1) * half)
            for n in range(12)
        ]
        found = READERS[reader](feed_body("Ground crew", rows))
        assert {uid: told[:2] for uid, told in found.items()} == {
            row.uid: (row.start, row.end) for row in rows
        }

    def test_a_whole_day_is_one_day_whatever_its_hours(self, reader, zone, day):
        """23 or 25 hours, or half an hour more or less."""
        row = event(zone=zone, all_day=True, start=at(zone, day, 0, 0), end=at(zone, day, 1, 0))
        (found,) = READERS[reader](feed_body("Ground crew", [row])).values()
        assert found[:2] == (day, day + timedelta(days=1))


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("year", [2027, 2028])
def test_the_last_day_of_february_ends_in_march(reader, year):
    """28 February 2027 and 29 February 2028, all day."""
    zone, first = "America/New_York", date(year, 3, 1) - timedelta(days=1)
    row = event(zone=zone, all_day=True, start=at(zone, first, 0, 0), end=at(zone, first, 1, 0))
    (found,) = READERS[reader](feed_body("Ground crew", [row])).values()
    assert found[:2] == (first, date(year, 3, 1))


@pytest.mark.parametrize("reader", READERS)
def test_two_yards_in_two_zones_stand_in_one_feed(reader):
    """Seven in Denver is nine in New York, and eleven in Phoenix is the yard's own eleven."""
    rows = [
        event(uid=zone, zone=zone, start=at(zone, date(2026, 6, 8), 0, 7),
              end=at(zone, date(2026, 6, 8), 0, 11))
        for zone in ("America/New_York", "America/Denver", "America/Phoenix")
    ]  # fmt: skip
    found = READERS[reader](feed_body("Everything", rows))
    assert {uid: told[0].hour for uid, told in found.items()} == {
        "America/New_York": 11,
        "America/Denver": 13,
        "America/Phoenix": 14,
    }


def at(zone: str, day: date, later: int, hour: int) -> datetime:
    """An hour of a day, or of one some days later, in a zone."""
    day += timedelta(days=later)
    return datetime(day.year, day.month, day.day, hour, tzinfo=ZoneInfo(zone))
