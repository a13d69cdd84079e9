"""VTIMEZONE: what we write of a zone is what the zone does, read by another library's rules."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical

from crews.ical import feed_body
from crews.ical.zones import changes_in, doubtful
from tests.calendars import NEW_YORK, event, new_york, read_strictly

US = [
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Phoenix",
    "America/Los_Angeles",
    "America/Anchorage",
    "America/Adak",
    "America/Indiana/Indianapolis",
    "America/Puerto_Rico",
    "Pacific/Honolulu",
]
ELSEWHERE = [
    "Africa/Casablanca",
    "America/Nuuk",
    "America/Sao_Paulo",
    "Asia/Jerusalem",
    "Asia/Kolkata",
    "Australia/Adelaide",
    "Australia/Lord_Howe",
    "Europe/Berlin",
    "Europe/Dublin",
]


def feed_in(zone, year=2026):
    """A feed with one event at noon of 8 June."""
    place = ZoneInfo(zone)
    start = datetime(year, 6, 8, 12, tzinfo=place)
    return feed_body("Ground crew", [event(zone=zone, start=start, end=start + timedelta(hours=4))])


def observances(zone, year=2026):
    """The parts of the one VTIMEZONE of that feed."""
    (part,) = read_strictly(feed_in(zone, year)).inside("VTIMEZONE")
    return part.parts


@pytest.mark.parametrize("zone", US + ELSEWHERE)
def test_another_library_finds_the_same_hours(zone):
    """I13, RFC 5545 3.6.5: every third hour of the year, but those that happen twice or never."""
    place, rules = ZoneInfo(zone), tzical(StringIO(feed_in(zone).decode())).get(zone)
    start = datetime(2026, 1, 1, 0, 30, tzinfo=UTC)
    wrong = []
    for count in range(365 * 8):
        local = (start + timedelta(hours=3 * count)).astimezone(place)
        if (
            not doubtful(local, place)
            and local.replace(tzinfo=rules).utcoffset() != local.utcoffset()
        ):
            wrong.append(local)
    assert wrong == []


def test_new_york_has_the_rules_of_2007():
    """Second Sunday of March and first of November at 2:00 local (15 U.S.C. 260a, from 2007)."""
    summer, winter = observances("America/New_York")
    assert (summer.name, winter.name) == ("DAYLIGHT", "STANDARD")
    assert summer.one("DTSTART").value == "20070311T020000"
    assert summer.one("RRULE").value == "FREQ=YEARLY;BYDAY=2SU;BYMONTH=3"
    assert winter.one("DTSTART").value == "20071104T020000"
    assert winter.one("RRULE").value == "FREQ=YEARLY;BYDAY=1SU;BYMONTH=11"
    assert [part.one("TZOFFSETFROM").value for part in (summer, winter)] == ["-0500", "-0400"]
    assert [part.one("TZOFFSETTO").value for part in (summer, winter)] == ["-0400", "-0500"]
    assert [part.one("TZNAME").value for part in (summer, winter)] == ["EDT", "EST"]


def test_a_rule_does_not_depend_on_the_year_of_the_event():
    """The same zone is written alike next year: a feed changes only where its events do."""
    assert observances("America/New_York", 2026) == observances("America/New_York", 2031)


@pytest.mark.parametrize(
    ("zone", "offset"), [("America/Phoenix", "-0700"), ("Pacific/Honolulu", "-1000")]
)
def test_a_zone_without_summer_time_has_one_observance(zone, offset):
    """Arizona and Hawaii do not change their clocks."""
    (only,) = observances(zone)
    assert (only.name, only.one("TZOFFSETTO").value, only.all("RRULE")) == ("STANDARD", offset, [])


def test_a_zone_without_a_yearly_rule_lists_its_changes():
    """Morocco's clocks follow the moon: three years, two changes each, and what held before."""
    parts = observances("Africa/Casablanca")
    assert [len(part.all("RRULE")) for part in parts] == [0] * 7


def test_no_date_lists():
    """Yearly rules only: readers are known to take RDATE lists an hour off."""
    assert b"RDATE" not in feed_in("Africa/Casablanca") + feed_in("America/New_York")


def test_each_zone_that_is_used_is_described_once():
    """I13, RFC 5545 3.2.19 and 3.6.5: a matching VTIMEZONE for each TZID, and no other."""
    rows = [
        event(uid="1"),
        event(uid="2"),
        event(uid="3", zone="America/Chicago"),
        event(uid="4", zone="America/Denver", all_day=True, end=new_york(6, 9, 7)),
    ]
    calendar = read_strictly(feed_body("Ground crew", rows))
    described = [part.one("TZID").value for part in calendar.inside("VTIMEZONE")]
    assert described == ["America/Chicago", "America/New_York"]
    used = [part.one("DTSTART").parameters.get("TZID") for part in calendar.inside("VEVENT")]
    assert used == ["America/New_York", "America/New_York", "America/Chicago", None]


@pytest.mark.parametrize(
    ("start", "end", "written"),
    [
        (new_york(3, 8, 2, 30), new_york(3, 8, 5), ["20260308T073000Z", "20260308T090000Z"]),
        (new_york(11, 1, 0, 30), new_york(11, 1, 1, 30), ["20261101T043000Z", "20261101T053000Z"]),
        (
            new_york(11, 1, 1, 30).replace(fold=1),
            new_york(11, 1, 4),
            ["20261101T063000Z", "20261101T090000Z"],
        ),
    ],
    ids=["in the gap", "ends in the hour that repeats", "begins in its second pass"],
)
def test_where_clocks_change_both_ends_are_utc(start, end, written):
    """I20, RFC 5545 3.3.5: no local time that does not exist or happens twice is written."""
    calendar = read_strictly(feed_body("Ground crew", [event(start=start, end=end)]))
    (part,) = calendar.inside("VEVENT")
    assert [part.one("DTSTART").value, part.one("DTEND").value] == written
    assert part.one("DTSTART").parameters == part.one("DTEND").parameters == {}
    assert calendar.inside("VTIMEZONE") == []


def test_the_hours_around_a_change_are_local():
    """Only the hour itself is in doubt."""
    assert not doubtful(new_york(3, 8, 1, 59), NEW_YORK)
    assert doubtful(new_york(3, 8, 2, 0), NEW_YORK)
    assert not doubtful(new_york(3, 8, 3, 0), NEW_YORK)


def test_changes_of_a_year_are_found_to_the_minute():
    """8 March and 1 November 2026 (Sundays), 2:00 by the clock that is left."""
    spring, autumn = changes_in("America/New_York", 2026)
    assert spring.local.isoformat() == "2026-03-08T02:00:00"
    assert autumn.local.isoformat() == "2026-11-01T02:00:00"
