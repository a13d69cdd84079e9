"""The judge on the clock on the wall: links with their waits, changing clocks, ground at rest.

All dates can be counted on the fingers: 8 June 2026 is a Monday, a day has four day slots.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from jobs.scheduling.world import Keepout
from jobs.trade.work import Clock, Relation, Tread
from tests.judging import breaches, sentences
from tests.worlds import (
    ALWAYS,
    CHICAGO,
    DAWN,
    DAY,
    FIRST,
    HOUR,
    JUNE,
    LAST,
    SECOND,
    THIRD,
    at,
    axis_of,
    crew,
    job,
    june,
    plan,
    tie,
    week,
    work,
    world,
)


class TestLinks:
    """Four relations, three clocks, and at most; the last slot too early is refused."""

    def judged(self, bond, dig, base, **changes):
        """Breaches of two works of some slots by two crews."""
        it = world(
            work("dig", dig[2], "north"), work("base", base[2], "south"), ties=(bond,), **changes
        )
        return breaches(it, plan(dig=at(*dig[:2]), base=at(*base[:2], "south")))

    @pytest.mark.parametrize(
        ("relation", "early", "right"),
        [
            (Relation.FINISH_START, (june(8, LAST), june(9)), (june(9), june(9, SECOND))),
            (
                Relation.START_START,
                (june(8, FIRST), june(8, SECOND)),
                (june(8, SECOND), june(8, THIRD)),
            ),
            (
                Relation.FINISH_FINISH,
                (june(8, SECOND), june(8, THIRD)),
                (june(8, THIRD), june(8, LAST)),
            ),
        ],
    )
    def test_relations_without_a_wait(self, relation, early, right):
        """Digging from Monday 9:00 to 15:30; the base takes two slots."""
        dig = (june(8, SECOND), june(8, LAST), 3)
        bond = tie("dig", "base", relation=relation)
        assert self.judged(bond, dig, (*right, 2)) == []
        assert self.judged(bond, dig, (*early, 2)) == [("wait", ("dig", "base"))]

    def test_start_to_finish_is_bound_by_the_start(self):
        """Watering ends no sooner than the planting begins, Tuesday 7:00."""
        bond = tie("dig", "base", relation=Relation.START_FINISH)
        dig = (june(9), june(9), 1)
        assert self.judged(bond, dig, (june(8, LAST), june(8, LAST), 1)) == [
            ("wait", ("dig", "base"))
        ]
        assert self.judged(bond, dig, (june(9), june(9), 1)) == []

    def test_elapsed_waits_run_over_the_weekend(self):
        """Three days from Friday 15:30 are over on Monday 15:30: Tuesday morning, not Monday."""
        bond = tie("dig", "base", 3 * DAY)
        friday = (june(12, LAST), june(12, LAST), 1)
        assert self.judged(bond, friday, (june(15, LAST), june(15, LAST), 1)) == [
            ("wait", ("dig", "base"))
        ]
        assert self.judged(bond, friday, (june(16), june(16), 1)) == []

    def test_a_lead_lets_the_follower_come_first(self):
        """Two hours before the finish at 15:30, so from 13:30; by hand only."""
        bond = tie("dig", "base", -2 * HOUR)
        dig = (june(8, THIRD), june(8, LAST), 2)
        assert self.judged(bond, dig, (june(8, LAST), june(8, LAST), 1)) == []
        assert self.judged(bond, dig, (june(8, THIRD), june(8, THIRD), 1)) == [
            ("wait", ("dig", "base"))
        ]

    @pytest.mark.parametrize(
        ("relation", "early", "right"),
        [
            # finish on Monday's second slot, three working slots between: third, last, Tuesday first
            (Relation.FINISH_START, june(9, FIRST), june(9, SECOND)),
            # counted from the start slot, Monday's first, itself: first, second, third
            (Relation.START_START, june(8, THIRD), june(8, LAST)),
            # the follower's own last slot counts: third, last, Tuesday first
            (Relation.FINISH_FINISH, june(8, LAST), june(9, FIRST)),
            (Relation.START_FINISH, june(8, SECOND), june(8, THIRD)),
        ],
    )
    def test_waits_in_working_slots(self, relation, early, right):
        """Digging on Monday's first two slots; three working slots of the follower must pass."""
        bond = tie("dig", "base", 3, Clock.WORK, relation=relation)
        dig = (june(8, FIRST), june(8, SECOND), 2)
        assert self.judged(bond, dig, (early, early, 1)) == [("wait-work", ("dig", "base"))]
        assert self.judged(bond, dig, (right, right, 1)) == []

    def test_working_waits_are_told_in_quarter_days(self):
        """Two of the three have passed."""
        it = world(work("dig"), work("base", 1, "south"), ties=(tie("dig", "base", 3, Clock.WORK),))
        placed = plan(dig=at(june(8), june(8)), base=at(june(8, LAST), june(8, LAST), "south"))
        assert sentences(it, placed) == [
            "base begins Mon 8 Jun, 1:30 pm: of the 3 quarter days of working time it must wait after dig, "
            "2 have passed."
        ]

    def test_working_waits_stop_on_the_followers_days_off(self):
        """South is off on Tuesday: two slots from Monday 13:30 are the last one and Wednesday's first."""
        off = crew("south", week(off=(date(2026, 6, 9),)))
        bond = tie("dig", "base", 2, Clock.WORK)
        dig = (june(8, THIRD), june(8, THIRD), 1)
        crews = {"crews": {"north": crew("north"), "south": off}}
        assert self.judged(bond, dig, (june(10), june(10), 1), **crews) == [
            ("wait-work", ("dig", "base"))
        ]
        assert self.judged(bond, dig, (june(10, SECOND), june(10, SECOND), 1), **crews) == []

    def test_a_lead_in_working_slots_goes_back(self):
        """Two working slots before Tuesday's end at 9:00: Monday's last and Tuesday's first."""
        bond = tie("dig", "base", -2, Clock.WORK)
        dig = (june(9), june(9), 1)
        assert self.judged(bond, dig, (june(8, LAST), june(8, LAST), 1)) == []
        assert self.judged(bond, dig, (june(8, THIRD), june(8, THIRD), 1)) == [
            ("wait-work", ("dig", "base"))
        ]

    @pytest.mark.parametrize(
        ("day", "days", "right", "holidays"),
        [
            # Colo. Rev. Stat. 9-1.5-103: two business days, the day of the notice not counted
            (date(2026, 6, 8), 2, date(2026, 6, 11), ()),
            # S.C. Code 58-36-60(A)(1): three full working days
            (date(2026, 6, 8), 3, date(2026, 6, 12), ()),
            # Cal. Gov. Code 4216.2: two working days, the day of the notice not counted
            (date(2026, 6, 12), 2, date(2026, 6, 17), ()),
            # F.S. 556.105, state notice centre: two full business days
            (date(2026, 6, 11), 2, date(2026, 6, 16), ()),
            # S.C., over a holiday, here Juneteenth on Friday 19 June
            (date(2026, 6, 16), 3, date(2026, 6, 23), (date(2026, 6, 19),)),
            # full days Thursday and Friday; work resumes with the next business day
            (date(2026, 6, 10), 2, date(2026, 6, 15), ()),
        ],
    )
    def test_business_days_leave_out_the_day_of_the_call(self, day, days, right, holidays):
        """Called on a day, so many full business days pass, dig on the business day after."""
        all_week = crew(
            "south", week(weekdays=(0, 1, 2, 3, 4, 5, 6), positions=(DAWN, FIRST, LAST))
        )
        bond = tie("dig", "base", days, Clock.BUSINESS)
        call = JUNE.slot(day, SECOND)
        changes = {
            "holidays": frozenset(holidays),
            "crews": {"north": crew("north"), "south": all_week},
        }
        before = JUNE.slot(right, FIRST) - 6
        dig = (call, call, 1)
        start = JUNE.slot(right, FIRST)
        assert self.judged(bond, dig, (start, start, 1), **changes) == []
        assert self.judged(bond, dig, (before, before, 1), **changes) == [("wait", ("dig", "base"))]

    def test_a_lead_in_business_days_goes_back(self):
        """Ordered at most one business day before Monday's start: from Friday 0:00."""
        bond = tie("dig", "base", -1, Clock.BUSINESS, relation=Relation.START_START)
        dig = (june(15), june(15), 1)
        assert self.judged(bond, dig, (june(12), june(12), 1)) == []
        assert self.judged(bond, dig, (june(11, LAST), june(11, LAST), 1)) == [
            ("wait", ("dig", "base"))
        ]

    @pytest.mark.parametrize("clock", list(Clock))
    def test_a_wait_of_nothing_is_the_same_on_every_clock(self, clock):
        """The next slot is late enough, the same slot is not."""
        dig = (june(8), june(8), 1)
        bond = tie("dig", "base", 0, clock)
        assert self.judged(bond, dig, (june(8, SECOND), june(8, SECOND), 1)) == []
        assert self.judged(bond, dig, (june(8), june(8), 1)) == [("wait", ("dig", "base"))]

    @pytest.mark.parametrize(
        ("relation", "minutes"),
        [
            (Relation.FINISH_START, 22 * HOUR),
            (Relation.START_START, 24 * HOUR),
            (Relation.FINISH_FINISH, 24 * HOUR),
            (Relation.START_FINISH, 26 * HOUR),
        ],
    )
    def test_at_most_is_kept_to_the_minute(self, relation, minutes):
        """From Monday 9:00-11:00 to Tuesday 9:00-11:00, each event to each event."""
        dig, base = (june(8, SECOND), june(8, SECOND), 1), (june(9, SECOND), june(9, SECOND), 1)
        assert self.judged(tie("dig", "base", relation=relation, at_most=minutes), dig, base) == []
        short = tie("dig", "base", relation=relation, at_most=minutes - 1)
        assert self.judged(short, dig, base) == [("at-most", ("dig", "base"))]


class TestClocks:
    """Waits are minutes that pass, whatever the clocks on the wall are set to."""

    def test_a_weekend_with_the_end_of_summer_time_is_an_hour_longer(self):
        """Sat 31 Oct 2026 15:30 to Mon 2 Nov 7:00 is 39 h 30 min by the hands of a clock, but 40 h 30.

        Source: Energy Policy Act of 2005, section 110 (first Sunday of November).
        """
        axis = axis_of(first=date(2026, 10, 26))
        sat = axis.slot(date(2026, 10, 31), LAST)
        mon = axis.slot(date(2026, 11, 2), FIRST)
        it = world(
            work("pour"),
            work("walk"),
            axes={CHICAGO: axis},
            now=0,
            jobs={"oak": job(release=0)},
            crews={"north": crew("north", ALWAYS)},
            ties=(tie("pour", "walk", 40 * HOUR + 30),),
        )
        assert breaches(it, plan(pour=at(sat, sat), walk=at(mon, mon))) == []
        longer = replace(it, ties=(tie("pour", "walk", 40 * HOUR + 31),))
        assert breaches(longer, plan(pour=at(sat, sat), walk=at(mon, mon))) == [
            ("wait", ("pour", "walk"))
        ]

    def test_two_yards_in_two_zones_go_by_the_same_minutes(self):
        """Ends 9:00 in Chicago, which is 10:00 in New York: 9:00 there is too early."""
        east = axis_of("America/New_York")
        it = world(
            work("cut"),
            work("fit", 1, "south", job="elm"),
            axes={CHICAGO: JUNE, "east": east},
            jobs={"oak": job(), "elm": job("elm", zone="east")},
            ties=(tie("cut", "fit"),),
        )
        late = plan(cut=at(june(8), june(8)), fit=at(june(8, THIRD), june(8, THIRD), "south"))
        assert breaches(it, late) == []
        early = plan(cut=at(june(8), june(8)), fit=at(june(8, SECOND), june(8, SECOND), "south"))
        assert breaches(it, early) == [("wait", ("cut", "fit"))]
        assert sentences(it, early) == [
            "fit begins Mon 8 Jun, 9:00 am, but after cut it must wait until Mon 8 Jun, 10:00 am."
        ]

    def test_working_waits_across_zones_begin_with_the_followers_next_slot(self):
        """From 10:00 in New York the first slot to count is 11:30, the third."""
        east = axis_of("America/New_York")
        it = world(
            work("cut"),
            work("fit", 1, "south", job="elm"),
            axes={CHICAGO: JUNE, "east": east},
            jobs={"oak": job(), "elm": job("elm", zone="east")},
            ties=(tie("cut", "fit", 1, Clock.WORK),),
        )
        right = plan(cut=at(june(8), june(8)), fit=at(june(8, LAST), june(8, LAST), "south"))
        assert breaches(it, right) == []
        early = plan(cut=at(june(8), june(8)), fit=at(june(8, THIRD), june(8, THIRD), "south"))
        assert breaches(it, early) == [("wait-work", ("cut", "fit"))]


class TestKeepouts:
    """Ground at rest is not trodden on."""

    def kept(self, start, end, tread=Tread.BARROW, slots=1, **changes):
        """Breaches of a work that treads on a slab poured on Monday's first slot; rests two days."""
        rest = Keepout("patio", 2 * DAY, Tread.BARROW, changes.pop("exempt", frozenset()))
        it = world(
            work("pour", keepouts=(rest,), treads={"patio": Tread.HEAVY}),
            work("haul", slots, "south", treads={"patio": tread}, **changes),
        )
        placed = plan(pour=at(june(8), june(8)), haul=at(start, end, "south"))
        return breaches(it, placed)

    def test_heavy_feet_wait(self):
        """Rests from Monday 9:00 to Wednesday 9:00."""
        broken = [("keepout", ("pour", "haul"))]
        assert self.kept(june(8, SECOND), june(8, SECOND)) == broken
        assert self.kept(june(10), june(10)) == broken
        assert self.kept(june(10, SECOND), june(10, SECOND)) == []

    def test_work_beside_the_pour_may_end_with_it(self):
        """Until the pour ends the ground is not at rest; a minute more and it is."""
        assert self.kept(june(8), june(8)) == []
        assert self.kept(june(8), june(8, SECOND), slots=2) == [("keepout", ("pour", "haul"))]

    def test_lighter_feet_and_the_exempt_may_enter(self):
        """On foot, or named."""
        assert self.kept(june(9), june(9), Tread.FOOT) == []
        assert self.kept(june(9), june(9), exempt=frozenset({"haul"})) == []

    def test_elsewhere_is_elsewhere(self):
        """The lawn does not rest."""
        rest = Keepout("patio", 2 * DAY, Tread.FOOT)
        it = world(
            work("pour", keepouts=(rest,)), work("haul", 1, "south", treads={"lawn": Tread.HEAVY})
        )
        placed = plan(pour=at(june(8), june(8)), haul=at(june(9), june(9), "south"))
        assert breaches(it, placed) == []
