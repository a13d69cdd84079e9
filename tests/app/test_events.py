"""Publishing: what a phone sees of a plan, and that nothing else about it changes.

8 June 2026 is a Monday. Plans are published on Friday 5 June at 18:00, and again on the 6th.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from crews.models import CalendarEvent
from crews.services.drafts import Run
from crews.services.events import Published, forget_cancelled
from tests.calendars import new_york
from tests.drafts import FRIDAY, SATURDAY, days, draft, hours, publish, rows, stored
from tests.factories import CalendarEventFactory

pytestmark = pytest.mark.django_db


class TestFirstTime:
    """A plan that nobody has seen yet."""

    def test_each_run_is_an_event(self):
        """Thursday and Friday, then Monday: two events, nobody is shown at work on Sunday."""
        assert publish(draft(days(11, 13), days(15, 16))) == Published("maple", added=2)
        first, second = rows()
        assert (first.start, first.end, first.all_day, first.run) == (
            new_york(6, 11),
            new_york(6, 13),
            True,
            0,
        )
        assert (second.start, second.end, second.run) == (new_york(6, 15), new_york(6, 16), 1)
        assert (first.sequence, first.created, first.modified) == (0, FRIDAY, FRIDAY)
        assert first.uid != second.uid

    def test_runs_come_in_order_of_time_however_told(self):
        """The first run is the earlier one."""
        publish(draft(days(15, 16), days(11, 12)))
        assert [row.run for row in rows()] == [0, 1]

    def test_what_has_ended_is_not_told(self):
        """A run that ended before publishing is nobody's news."""
        assert publish(draft(days(4, 5), days(8, 9))) == Published("maple", added=1)

    def test_the_same_thing_told_twice_is_one_event(self):
        """Two units of one machine on one work go together."""
        assert publish(draft(days(8, 9)), draft(days(8, 9), days(9, 10))) == Published(
            "maple", added=2
        )


class TestAgain:
    """A plan published once more."""

    def test_nothing_changes_if_nothing_moved(self):
        """I11, RFC 5545 3.8.7.4: same sequence, same stamps, every column alike."""
        told = [draft(days(8, 10), days(11, 12)), draft(days(8, 10), subject="machine:loader")]
        publish(*told)
        before = stored()
        assert publish(*told, now=SATURDAY) == Published("maple")
        assert stored() == before

    def test_a_moved_run_keeps_its_uid(self):
        """I10, RFC 5545 3.8.4.7 and 3.8.7.4: same UID, sequence one higher, stamp later."""
        publish(draft(days(8, 9)))
        (before,) = rows()
        assert publish(draft(days(9, 11)), now=SATURDAY) == Published("maple", moved=1)
        (after,) = rows()
        assert (after.uid, after.sequence, after.created) == (before.uid, 1, FRIDAY)
        assert (after.start, after.end, after.modified) == (
            new_york(6, 9),
            new_york(6, 11),
            SATURDAY,
        )

    def test_runs_match_in_order(self):
        """The first run goes: its event shows what was second, and the last is spare."""
        publish(draft(days(8, 9), days(11, 12)))
        first, second = rows()
        assert publish(draft(days(11, 12)), now=SATURDAY) == Published(
            "maple", moved=1, cancelled=1
        )
        live = CalendarEvent.objects.get(status="CONFIRMED")
        assert (live.uid, live.start) == (first.uid, new_york(6, 11))
        assert CalendarEvent.objects.get(status="CANCELLED").uid == second.uid

    def test_a_cancelled_run_says_so_in_words(self):
        """I14, RFC 5545 3.8.1.11; the words are for phones that show it like any other."""
        publish(draft(days(8, 9)))
        assert publish(now=SATURDAY) == Published("maple", cancelled=1)
        (row,) = rows()
        assert (row.title, row.status, row.sequence) == (
            "CANCELLED - Maple Lane: Grade the yard",
            "CANCELLED",
            1,
        )
        assert (row.start, row.modified) == (new_york(6, 8), SATURDAY)

    def test_a_cancelled_run_is_cancelled_once(self):
        """Publishing again without it changes nothing."""
        publish(draft(days(8, 9)))
        publish(now=SATURDAY)
        before = stored()
        assert publish(now=SATURDAY + timedelta(days=1)) == Published("maple")
        assert stored() == before

    def test_a_run_that_comes_back_is_the_same_event(self):
        """Same UID, sequence still rising, the title without the prefix."""
        publish(draft(days(8, 9)))
        (before,) = rows()
        publish(now=SATURDAY)
        assert publish(draft(days(9, 10)), now=SATURDAY) == Published("maple", added=1)
        (row,) = rows()
        assert (row.uid, row.status, row.sequence) == (before.uid, "CONFIRMED", 2)
        assert row.title == "Maple Lane: Grade the yard"

    def test_one_more_run_is_one_more_event(self):
        """The others stay as they are."""
        publish(draft(days(8, 9)))
        assert publish(draft(days(8, 9), days(11, 12)), now=SATURDAY) == Published("maple", added=1)
        assert [(row.run, row.sequence) for row in rows()] == [(0, 0), (1, 0)]

    @pytest.mark.parametrize(
        "other",
        [
            {"title": "Maple Lane: Grade and roll the yard"},
            {"place": "14 Maple Lane"},
            {"notes": "Back yard: 2,500 ft2"},
        ],
        ids=["title", "place", "notes"],
    )
    def test_other_words_are_a_visible_change(self, other):
        """RFC 5545 3.8.7.4: sequence one higher; the dates stay."""
        publish(draft(days(8, 9)))
        assert publish(draft(days(8, 9), **other), now=SATURDAY) == Published("maple", reworded=1)
        (row,) = rows()
        assert (row.sequence, row.start) == (1, new_york(6, 8))

    def test_days_that_become_hours_are_moved(self):
        """From the whole of Monday to its morning."""
        publish(draft(days(8, 9)))
        assert publish(draft(hours(8, 7, 11)), now=SATURDAY) == Published("maple", moved=1)
        (row,) = rows()
        assert (row.all_day, row.end) == (False, new_york(6, 8, 11))

    def test_the_stamp_rises_even_if_the_clock_stands_still(self):
        """Some phones take an event anew only if LAST-MODIFIED did; a demo's day never ends."""
        publish(draft(days(8, 9)))
        publish(draft(days(9, 10)))
        publish(draft(days(8, 9)))
        (row,) = rows()
        assert (row.sequence, row.modified) == (2, FRIDAY + timedelta(seconds=2))


class TestOtherCrew:
    """The same work, given to somebody else."""

    def test_it_is_cancelled_here_and_new_there(self):
        """Cancelled in the old feed; in the new one a UID nobody has seen."""
        publish(draft(days(8, 9)))
        (before,) = rows()
        assert publish(draft(days(8, 9), subject="crew:stone"), now=SATURDAY) == Published(
            "maple", added=1, cancelled=1
        )
        ground, stone = rows()
        assert (ground.subject, ground.uid, ground.status) == (
            "crew:ground",
            before.uid,
            "CANCELLED",
        )
        assert (stone.subject, stone.status, stone.sequence) == ("crew:stone", "CONFIRMED", 0)
        assert stone.uid != before.uid

    def test_back_again_both_events_are_taken_up(self):
        """There and back leaves two events, each with its own UID."""
        publish(draft(days(8, 9)))
        publish(draft(days(8, 9), subject="crew:stone"), now=SATURDAY)
        uids = {row.subject: row.uid for row in rows()}
        publish(draft(days(8, 9)), now=SATURDAY)
        assert {row.subject: row.uid for row in rows()} == uids
        assert {row.subject: row.status for row in rows()} == {
            "crew:ground": "CONFIRMED",
            "crew:stone": "CANCELLED",
        }


class TestPast:
    """What has ended."""

    WEDNESDAY = new_york(6, 10, 18)

    def test_it_never_changes(self):
        """Monday is over: it is neither moved, reworded nor cancelled."""
        publish(draft(days(8, 9)))
        before = stored()
        assert publish(now=self.WEDNESDAY) == Published("maple")
        assert publish(draft(days(8, 9), title="Other"), now=self.WEDNESDAY) == Published("maple")
        assert stored() == before

    def test_work_still_to_come_is_a_new_event(self):
        """Monday happened; what is left on Thursday does not move Monday."""
        publish(draft(days(8, 9)))
        (monday,) = rows()
        assert publish(draft(days(11, 12)), now=self.WEDNESDAY) == Published("maple", added=1)
        first, second = rows()
        assert (first.uid, first.start, first.sequence) == (monday.uid, new_york(6, 8), 0)
        assert (second.start, second.run) == (new_york(6, 11), 1)

    def test_days_already_told_are_not_told_again(self):
        """Planned for Monday and Tuesday, it takes until Thursday: the rest is told from Wednesday on."""
        publish(draft(days(8, 10)))
        assert publish(draft(days(8, 12)), now=new_york(6, 10, 6)) == Published("maple", added=1)
        assert [(row.start, row.end) for row in rows()] == [
            (new_york(6, 8), new_york(6, 10)),
            (new_york(6, 10), new_york(6, 12)),
        ]

    def test_a_morning_told_leaves_whole_days_from_the_next_midnight(self):
        """Monday's morning is over; whole days can only begin at a midnight."""
        publish(draft(hours(8, 7, 11)))
        publish(draft(days(8, 10)), now=new_york(6, 8, 12))
        assert [(row.start, row.end) for row in rows()] == [
            (new_york(6, 8, 7), new_york(6, 8, 11)),
            (new_york(6, 9), new_york(6, 10)),
        ]

    def test_work_under_way_may_still_move_its_end(self):
        """On Tuesday evening Wednesday is lost: the event that began on Monday goes on to Thursday."""
        publish(draft(days(8, 11)))
        (before,) = rows()
        assert publish(draft(days(8, 12)), now=new_york(6, 9, 18)) == Published("maple", moved=1)
        (after,) = rows()
        assert (after.uid, after.start, after.end) == (before.uid, new_york(6, 8), new_york(6, 12))


class TestRuns:
    """What is told of one run alone."""

    def test_each_run_carries_its_own_lines_under_those_of_all(self):
        """Monday alone has company."""
        publish(draft(replace(days(8, 9), notes="Also here: Stone crew"), days(11, 12)))
        assert [row.notes for row in rows()] == [
            "Back yard: 2,400 ft2\nAlso here: Stone crew",
            "Back yard: 2,400 ft2",
        ]

    def test_other_company_is_a_change_but_no_move(self):
        """The sequence rises; nothing says that it was moved."""
        publish(draft(days(8, 9)))
        told = draft(replace(days(8, 9), notes="Also here: Stone crew"))
        assert publish(told, now=SATURDAY) == Published("maple", reworded=1)
        assert (rows()[0].sequence, rows()[0].changed) == (1, "")

    @pytest.mark.parametrize(
        ("before", "after", "said"),
        [
            (days(8, 9), days(9, 10), "was Mon 8 Jun"),
            (days(8, 10), days(8, 9), "was Mon 8 Jun to Tue 9 Jun"),
            (hours(8, 7, 11), hours(8, 11, 15), "was Mon 8 Jun, 7:00 am to 11:00 am"),
            (hours(8, 7, 13), days(8, 9), "was Mon 8 Jun, 7:00 am to 1:00 pm"),
            (
                Run(new_york(6, 8, 20), new_york(6, 9, 1), all_day=False),
                hours(9, 20, 23),
                "was Mon 8 Jun, 8:00 pm to Tue 9 Jun, 1:00 am",
            ),
        ],
        ids=["a day", "days", "hours", "hours to a day", "over midnight"],
    )
    def test_a_moved_run_says_what_it_was(self, before, after, said):
        """With the day on which it was moved, in the zone of the yard."""
        publish(draft(before))
        publish(draft(after), now=SATURDAY)
        assert rows()[0].changed == f"Changed Sat 6 Jun: {said}."


class TestForgetting:
    """How long a cancelled event is shown."""

    def cancelled(self, end_day):
        """An event that ends on a day of June, cancelled on the 6th."""
        publish(draft(Run(new_york(6, 8), new_york(6, end_day), all_day=True)))
        publish(now=SATURDAY)

    @pytest.mark.parametrize(
        ("end_day", "now", "gone"),
        [
            (9, SATURDAY + timedelta(days=14), 0),
            (9, SATURDAY + timedelta(days=14, seconds=1), 1),
            (28, SATURDAY + timedelta(days=15), 0),
            (28, new_york(6, 28, 0, 1), 1),
        ],
        ids=["two weeks", "a second more", "its end is later", "its end is over"],
    )
    def test_until_the_later_of_its_end_and_two_weeks(self, end_day, now, gone):
        """Phones that look rarely must still learn of it."""
        self.cancelled(end_day)
        assert forget_cancelled(now) == gone

    def test_live_events_stay_for_good(self):
        """Only cancelled ones are forgotten."""
        publish(draft(days(8, 9)))
        assert forget_cancelled(new_york(12, 31)) == 0


class TestJobs:
    """Events of other yards, and how many queries."""

    def test_another_job_is_let_be(self):
        """Publishing Maple Lane without work cancels nothing of Cedar Court."""
        other = CalendarEventFactory(job="cedar")
        publish(now=SATURDAY)
        other.refresh_from_db()
        assert other.status == "CONFIRMED"

    def test_a_draft_of_another_job_is_refused(self):
        """It would be cancelled the next time."""
        with pytest.raises(ValueError, match="draft of job 'cedar' among those of job 'maple'"):
            publish(draft(days(8, 9), job="cedar"))

    @pytest.mark.parametrize("count", [1, 3])
    def test_queries_do_not_grow_with_rows(self, django_assert_num_queries, count):
        """A savepoint, languages, what is stored, what changes, what is new, and the savepoint let go."""
        kept = [draft(days(8, 9), activity=f"kept-{n}") for n in range(count)]
        publish(*kept)
        told = [replace(d, runs=(days(9, 10), days(11, 12))) for d in kept]
        with django_assert_num_queries(6):
            publish(*told, now=SATURDAY)
