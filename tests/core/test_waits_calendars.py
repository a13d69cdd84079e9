"""Calendars by look-up and waits as functions of slots; June 2026, Mon 8 is the first day."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.scheduling.calendars import (
    Calendar,
    days_mask,
    usual_week,
    week_mask,
    work_bits,
    worked_slots,
)
from jobs.scheduling.waits import Wait, business_day
from jobs.trade.work import Clock, Lag, Relation
from tests.worlds import (
    ALWAYS,
    DAWN,
    DAY,
    EVENING,
    FIRST,
    HOUR,
    JUNE,
    LAST,
    SECOND,
    THIRD,
    at,
    axis_of,
    job,
    june,
    week,
    work,
    world,
)

WEEK = Calendar(week(), JUNE.size)
FS, FF = Relation.FINISH_START, Relation.FINISH_FINISH


def wait(lag, relation=FS, calendar=WEEK, **axes):
    """A wait in June, Fri 19 being a holiday (Juneteenth)."""
    before, after = axes.get("before", JUNE), axes.get("after", JUNE)
    return Wait(lag, relation, before, after, calendar, frozenset({date(2026, 6, 19)}))


class TestCalendar:
    """Open slots, forward and back."""

    def test_a_day_and_a_half_over_the_weekend(self):
        """Six slots from Fri 12 first thing end on Mon 15 at 11:00, and back again."""
        assert WEEK.end(june(12), 6) == june(15, SECOND)
        assert WEEK.start(june(15, SECOND), 6) == june(12)
        assert WEEK.count(june(12), june(15, SECOND)) == 6

    def test_last_open_slot(self):
        """Up to Sat 13 it is Fri 12 15:30."""
        assert WEEK.at_or_before(june(13)) == june(12, LAST)

    def test_off_the_axis_is_never(self):
        """Nothing after the end, nothing before the begin."""
        assert WEEK.end(JUNE.size - 1, 1) == JUNE.size
        assert WEEK.start(june(8), 2) == -1
        assert WEEK.end(-10, 1) == june(8)

    @given(st.sets(st.integers(0, 59)), st.integers(0, 59), st.integers(1, 9))
    def test_counting_slot_by_slot_says_the_same(self, slots, start, length):
        """Any open slots of ten days: the end is the n-th one from the start."""
        calendar = Calendar(sum(1 << slot for slot in slots), 60)
        left = sorted(slot for slot in slots if slot >= start)
        expected = left[length - 1] if len(left) >= length else 60
        assert calendar.end(start, length) == expected

    def test_a_usual_week_less_holidays(self):
        """Mon to Fri by day, but not on Fri 19."""
        mask = week_mask(JUNE, usual_week(JUNE), closed=[date(2026, 6, 19)])
        assert mask == week(off=(date(2026, 6, 19),))

    def test_days_as_slots(self):
        """Tue 9 and Wed 10 are twelve slots from Tue at dawn."""
        assert days_mask(JUNE, date(2026, 6, 9), date(2026, 6, 10)) == 0xFFF << june(9, DAWN)

    def test_slots_worked_are_open_to_all_concerned(self):
        """Yard closed on Tue 9: four slots on Mon 8, four on Wed 10."""
        closed = ALWAYS & ~days_mask(JUNE, date(2026, 6, 9), date(2026, 6, 9))
        it = world(work("dig", 8), jobs={"oak": job(open=closed)})
        found = worked_slots(it, it.works["dig"], at(june(8), june(10, LAST)))
        assert found == [*range(june(8), june(8, LAST) + 1), *range(june(10), june(10, LAST) + 1)]
        assert work_bits(it, it.works["dig"], "north") == week() & closed


class TestWait:
    """The earliest slot of the follower's event."""

    @pytest.mark.parametrize(
        ("lag", "done", "earliest"),
        [
            (Lag(), june(8, SECOND), june(8, THIRD)),
            (Lag(4 * HOUR), june(8, THIRD), june(8, EVENING)),
            (Lag(7 * DAY), june(11, LAST), june(18, EVENING)),
            (Lag(7 * DAY), june(11, THIRD), june(18, LAST)),
            (Lag(-2 * HOUR), june(9, LAST), june(9, LAST)),
            (Lag(6, Clock.WORK), june(11, LAST), june(15, THIRD)),
            (Lag(2, Clock.BUSINESS), june(11, FIRST), june(16, DAWN)),
            (Lag(2, Clock.BUSINESS), june(17, FIRST), june(23, DAWN)),
        ],
    )
    def test_from_a_finish_to_a_start(self, lag, done, earliest):
        """Elapsed over nights and weekends, work in open slots, business days less holidays.

        Seven days after Thu 11 15:30 is Thu 18 15:30 (design rule). Two business days after Thu 11 are
        Fri 12 and Mon 15, so Tue 16; after Wed 17 they are Thu 18 and Mon 22, so Tue 23.
        """
        assert wait(lag).earliest(done) == earliest

    def test_to_a_finish_the_last_slot_is_bound(self):
        """A day after Mon 8 15:30 the follower may end: with the slot that ends Tue 9 15:30."""
        assert wait(Lag(DAY), FF).earliest(june(8, LAST)) == june(9, LAST)

    def test_at_most_leaves_out_what_begins_too_late(self):
        """Within a day of Mon 8 13:30: Tue 9 13:30 is the last begin."""
        assert wait(Lag(at_most=DAY)).latest(june(8, THIRD)) == june(9, LAST)

    def test_between_two_zones_the_clock_on_the_wall_differs(self):
        """15:30 in Chicago is 13:30 in Los Angeles: the follower begins with its last day slot."""
        west = axis_of("America/Los_Angeles")
        assert wait(Lag(), after=west).earliest(june(8, LAST)) == june(8, LAST)

    @pytest.mark.parametrize(
        ("first", "saturday", "hours", "expected"),
        [
            (date(2026, 3, 2), date(2026, 3, 7), 24, LAST),
            (date(2026, 3, 9), date(2026, 3, 14), 24, THIRD),
            (date(2026, 10, 26), date(2026, 10, 31), 25, THIRD),
            (date(2026, 11, 2), date(2026, 11, 7), 25, LAST),
        ],
    )
    def test_hours_are_hours_when_the_clocks_change(self, first, saturday, hours, expected):
        """From Sat 11:00 to Sunday, which has 23 hours in March and 25 in November.

        24 hours on it is 12:00 in March (13:30 is next) and else 11:00 (11:30). 25 hours on it is
        11:00 in November (11:30) and else 12:00 (13:30).
        """
        axis = axis_of(first=first)
        done = axis.slot(saturday, SECOND)
        found = wait(Lag(hours * HOUR), before=axis, after=axis).earliest(done)
        assert found == axis.slot(saturday, expected) + axis.per_day

    @pytest.mark.parametrize("amount", [0, 60, 600, 4000])
    @pytest.mark.parametrize("clock", Clock)
    def test_waits_rise_and_can_be_asked_back(self, amount, clock):
        """Later events never give earlier answers; the inverse finds the last event that fits."""
        lag = Lag(amount if clock is Clock.ELAPSED else amount // 600, clock, at_most=amount + DAY)
        it = wait(lag)
        table, latest = it.table(), [it.latest(event) for event in range(JUNE.size)]
        assert list(table) == sorted(table)
        assert latest == sorted(latest)
        for bound in range(0, JUNE.size, 5):
            fits = [event for event in range(JUNE.size) if table[event] <= bound]
            assert it.latest_event(bound) == max(fits, default=-1)
            keeps = [event for event in range(JUNE.size) if latest[event] >= bound]
            assert it.earliest_event(bound) == min(keeps, default=JUNE.size)

    def test_business_days_go_back_too(self):
        """Three before Tue 23 with Fri 19 off: Mon 22, Thu 18, Wed 17."""
        holidays = frozenset({date(2026, 6, 19)})
        assert business_day(date(2026, 6, 23), -3, holidays) == date(2026, 6, 17)
