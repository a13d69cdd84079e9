"""The body of a feed: each claim with its section of RFC 5545 or RFC 7986."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from crews.ical import COLOURS, EventRow, feed_body
from tests.calendars import CHANGED, event, new_york, read_strictly

SAMPLE = Path(__file__).parents[1] / "samples" / "ical" / "ground-crew.ics"


def written(row: EventRow):
    """The one event of a feed, as our strict reader sees it."""
    (part,) = read_strictly(feed_body("Ground crew", [row])).inside("VEVENT")
    return part


def days(first, after):
    """An all-day event of June 2026 from midnight to midnight."""
    return event(all_day=True, start=new_york(6, first), end=new_york(6, after))


class TestDates:
    """When an event begins and ends."""

    def test_three_days_of_work_end_on_the_fourth(self):
        """I01, RFC 5545 3.6.1 and 3.8.2.2: DTEND is the day after; Mon 8 to Wed 10 June."""
        part = written(days(8, 11))
        assert part.one("DTSTART").parameters == {"VALUE": "DATE"}
        assert part.one("DTSTART").value == "20260608"
        assert part.one("DTEND").parameters == {"VALUE": "DATE"}
        assert part.one("DTEND").value == "20260611"

    def test_one_day_of_work_ends_on_the_next(self):
        """I02, RFC 5545 3.8.2.2 with erratum 6109: the end is later than the start."""
        assert written(days(8, 9)).one("DTEND").value == "20260609"

    def test_days_are_those_of_the_yard(self):
        """Midnight of 8 June in Honolulu is 10:00 of that day in UTC, and still the 8th."""
        zone = ZoneInfo("Pacific/Honolulu")
        start, end = datetime(2026, 6, 8, tzinfo=zone), datetime(2026, 6, 9, tzinfo=zone)
        part = written(event(all_day=True, zone=zone.key, start=start, end=end))
        assert (part.one("DTSTART").value, part.one("DTEND").value) == ("20260608", "20260609")

    def test_a_part_day_has_its_hours_and_zone(self):
        """RFC 5545 3.3.5, form 3: local time with TZID."""
        part = written(event())
        assert part.one("DTSTART").parameters == {"TZID": "America/New_York"}
        assert part.one("DTSTART").value == "20260608T070000"
        assert part.one("DTEND").value == "20260608T110000"

    @pytest.mark.parametrize("row", [event(), days(8, 11)], ids=["hours", "days"])
    def test_an_event_has_an_end_of_the_type_of_its_start_and_no_duration(self, row):
        """I18, RFC 5545 3.6.1: DTEND or DURATION; I19, 3.8.2.2: DTEND has the type of DTSTART."""
        part = written(row)
        assert part.all("DURATION") == []
        assert part.one("DTEND").parameters == part.one("DTSTART").parameters

    def test_stamps_are_utc(self):
        """I12, RFC 5545 3.8.7.2 and 3.8.7.3: DTSTAMP and LAST-MODIFIED are UTC and end in Z."""
        part = written(event(modified=CHANGED.astimezone(ZoneInfo("America/New_York"))))
        assert part.one("DTSTAMP").value == "20260605T223000Z"
        assert part.one("LAST-MODIFIED").value == "20260605T223000Z"
        assert part.one("CREATED").value == "20260601T120000Z"


class TestWords:
    """What is read on the phone."""

    def test_text_is_escaped(self):
        r"""I09, RFC 5545 3.3.11: comma, semicolon and backslash get a backslash, a break is \n."""
        part = written(event(notes="a,b;c\\\nd"))
        assert part.one("DESCRIPTION").value == r"a\,b\;c\\\nd"

    def test_an_event_without_place_or_notes_has_no_such_lines(self):
        """Both are optional (RFC 5545 3.6.1); an empty line would show as an empty field."""
        part = written(event(place=" ", notes="\n"))
        assert (part.all("LOCATION"), part.all("DESCRIPTION")) == ([], [])

    def test_a_title_is_one_line(self):
        """Control characters and breaks are gone, blanks trimmed."""
        assert written(event(title=" Grade\r\n\x07 the yard ")).one("SUMMARY").text == (
            "Grade the yard"
        )


class TestStatus:
    """Cancelled and free events."""

    def test_a_cancelled_event_says_so_and_blocks_no_time(self):
        """I14, RFC 5545 3.8.1.11 and 3.8.2.7."""
        part = written(event(status="CANCELLED", sequence=3))
        assert part.one("STATUS").value == "CANCELLED"
        assert part.one("TRANSP").value == "TRANSPARENT"
        assert part.one("SEQUENCE").value == "3"

    @pytest.mark.parametrize(("free", "transp"), [(False, "OPAQUE"), (True, "TRANSPARENT")])
    def test_work_blocks_time_and_a_free_event_does_not(self, free, transp):
        """RFC 5545 3.8.2.7."""
        assert written(event(free=free)).one("TRANSP").value == transp


class TestCalendar:
    """What stands around the events."""

    def test_what_must_stand_once_does(self):
        """I15, RFC 5545 3.6 and 3.7: VERSION 2.0 and PRODID; UID and DTSTAMP in each event."""
        calendar = read_strictly(feed_body("Ground crew", [event(), event(uid="grade-2")]))
        assert calendar.one("VERSION").value == "2.0"
        assert calendar.one("PRODID").value == "-//Yardwright//Calendar feed 1.0//EN"
        assert [part.one("UID").value for part in calendar.inside("VEVENT")] == [
            "grade-1",
            "grade-2",
        ]
        assert all(part.one("DTSTAMP") for part in calendar.inside("VEVENT"))

    def test_a_calendar_is_never_empty(self):
        """I15, RFC 5545 3.6: at least one component."""
        with pytest.raises(ValueError, match="has no event"):
            feed_body("Ground crew", [])

    def test_phones_are_asked_to_look_hourly(self):
        """I16, RFC 7986 5.7; the X- line is what came before it, for older calendars."""
        calendar = read_strictly(feed_body("Ground crew", [event()]))
        assert calendar.one("REFRESH-INTERVAL").parameters == {"VALUE": "DURATION"}
        assert calendar.one("REFRESH-INTERVAL").value == "PT1H"
        assert calendar.one("X-PUBLISHED-TTL").value == "PT1H"

    def test_name_and_colour(self):
        """I17, RFC 7986 5.1 and 5.9: one NAME; COLOR by its CSS name."""
        calendar = read_strictly(feed_body("Ground crew, Yardwright", [event()], colour=COLOURS[3]))
        assert calendar.one("NAME").text == "Ground crew, Yardwright"
        assert calendar.one("X-WR-CALNAME").text == "Ground crew, Yardwright"
        assert calendar.one("COLOR").value == "teal"

    def test_nothing_rings_or_invites(self):
        """A published feed carries no METHOD, alarm, attendee or organizer (RFC 5546 1.4)."""
        calendar = read_strictly(SAMPLE.read_bytes())
        names = {line.name for part in [calendar, *calendar.parts] for line in part.lines}
        assert names & {"METHOD", "ATTENDEE", "ORGANIZER"} == set()
        assert [part.inside("VALARM") for part in calendar.inside("VEVENT")] == [[]] * 4


class TestRows:
    """What no row may be."""

    @pytest.mark.parametrize(
        ("wrong", "reason"),
        [
            ({"uid": ""}, "needs a UID and a title"),
            ({"title": " \n\x07"}, "needs a UID and a title"),
            ({"end": new_york(6, 8, 7)}, "not after"),
            ({"all_day": True}, "not after"),
            ({"start": datetime(2026, 6, 8, 7)}, "needs a time zone"),  # noqa: DTZ001 (the claim)
            ({"status": "DONE"}, "status DONE"),
            ({"sequence": -1}, "sequence -1"),
        ],
        ids=["no uid", "no title", "no length", "hours as days", "no zone", "status", "sequence"],
    )
    def test_a_row_that_no_phone_could_show_is_refused(self, wrong, reason):
        """The row says why; what passes needs no further check."""
        with pytest.raises(ValueError, match=reason):
            event(**wrong)


def sample_rows():
    """A week of an invented crew: days, a part day, a moved and a cancelled one, two zones."""
    return [
        event(uid="4fa1", title="Maple Lane: Strip the turf", all_day=True,
              start=new_york(6, 8), end=new_york(6, 11),
              notes="Back yard: 2,400 ft2\nGround crew, 4 people.\nGate on the left; latch sticks."),
        event(uid="4fa2", title="Maple Lane: Set the forms", start=new_york(6, 11, 7),
              end=new_york(6, 11, 11), sequence=2),
        event(uid="4fa3", title="CANCELLED - Maple Lane: Pour the slab", status="CANCELLED",
              start=new_york(6, 12), end=new_york(6, 13), all_day=True, sequence=4),
        event(uid="4fa4", title="Olvera's yard: lay pavers, sweep sand into the joints and run the "
              "plate – once “dry”", zone="America/Chicago", place="7 Cedar Ct, Unit B; rear",
              start=new_york(6, 15, 8), end=new_york(6, 15, 12, 30)),
    ]  # fmt: skip


def test_the_sample_is_what_we_write():
    """Golden file: any change of the format is seen here, octet by octet."""
    body = feed_body("Ground crew - Yardwright", sample_rows(), colour="olivedrab")
    assert body == SAMPLE.read_bytes()
