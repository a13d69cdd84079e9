"""The judge on one work by itself: begun, when, by whom, in which slots.

All dates can be counted on the fingers: 8 June 2026 is a Monday, a day has four day slots.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from jobs.scheduling.world import Done, Keepout, Machine, Pin
from jobs.trade.work import Shift, Tread
from tests.judging import breaches, sentences
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
    crew,
    job,
    june,
    plan,
    tie,
    week,
    work,
    world,
)


class TestBegun:
    """What has happened is fact; what runs goes on from now."""

    NOW = june(10)
    DONE = Done(june(8), june(9, LAST), "north")

    def test_done_work_stays_as_logged(self):
        """Its slots and crew are those of the log, whatever its length was meant to be."""
        it = world(work("dig", 3, "south", done=self.DONE), now=self.NOW)
        assert breaches(it, plan(dig=at(june(8), june(9, LAST), "north"))) == []

    @pytest.mark.parametrize(
        "placed",
        [
            at(june(8, SECOND), june(9, LAST)),
            at(june(8), june(9, THIRD)),
            at(june(8), june(9, LAST), "south"),
        ],
    )
    def test_done_work_may_not_be_moved(self, placed):
        """Another start, another end or another crew rewrites history."""
        it = world(work("dig", 8, done=self.DONE), now=self.NOW)
        assert breaches(it, plan(dig=placed)) == [("record", ("dig",))]

    def test_done_work_may_lie_before_the_axis(self):
        """Begun in May: the wait after it still counts, a week of seven days."""
        done = Done(JUNE.slot(date(2026, 6, 5), FIRST), JUNE.slot(date(2026, 6, 5), LAST), "north")
        it = world(
            work("spray", 4, done=done), work("strip"), ties=(tie("spray", "strip", 7 * DAY),)
        )
        fact = at(done.start, done.end)
        assert breaches(it, plan(spray=fact, strip=at(june(15), june(15)))) == []
        assert breaches(it, plan(spray=fact, strip=at(june(12, LAST), june(12, LAST)))) == [
            ("wait", ("spray", "strip"))
        ]

    def test_running_work_goes_on_from_now(self):
        """Begun Monday, six slots left on Wednesday: four on Wednesday, two on Thursday."""
        it = world(work("dig", 6, done=Done(june(8), None, "north")), now=self.NOW)
        assert breaches(it, plan(dig=at(june(8), june(11, SECOND)))) == []
        assert breaches(it, plan(dig=at(june(8), june(11, FIRST)))) == [("length", ("dig",))]
        assert breaches(it, plan(dig=at(june(9), june(11, SECOND)))) == [("record", ("dig",))]

    def test_running_work_keeps_a_crew_no_longer_able(self):
        """Who began goes on, at the plain number of slots if nobody says how fast he is."""
        it = world(work("dig", 2, "south", done=Done(june(8), None, "north")), now=self.NOW)
        assert breaches(it, plan(dig=at(june(8), june(10, SECOND), "north"))) == []

    def test_running_outside_work_takes_its_own_slots(self):
        """The yard's calendar alone counts: Wednesday morning."""
        it = world(work("inspect", 2, "", done=Done(june(9), None)), now=self.NOW)
        assert breaches(it, plan(inspect=at(june(9), june(10, SECOND), ""))) == []

    def test_facts_do_not_clash(self):
        """Two crews' logs for one zone, one crew in two yards, a link upside down: it happened."""
        it = world(
            work(
                "dig",
                4,
                place="patio",
                hauls={"gate": 80},
                done=Done(june(8), june(8, LAST), "north"),
            ),
            work(
                "base",
                2,
                place="patio",
                hauls={"gate": 80},
                keepouts=(Keepout("patio", DAY, Tread.FOOT),),
                treads={"patio": Tread.HEAVY},
                done=Done(june(8), june(8, SECOND), "north"),
            ),
            work("roll", 1, job="elm", done=Done(june(8, THIRD), june(8, THIRD), "north")),
            work(
                "lay",
                1,
                treads={"patio": Tread.FOOT},
                done=Done(june(8, LAST), june(8, LAST), "north"),
            ),
            ties=(tie("dig", "base", DAY),),
            jobs={"oak": job(crews=1, near=frozenset()), "elm": job("elm")},
            now=self.NOW,
        )
        logged = plan(
            dig=at(june(8), june(8, LAST)),
            base=at(june(8), june(8, SECOND)),
            roll=at(june(8, THIRD), june(8, THIRD)),
            lay=at(june(8, LAST), june(8, LAST)),
        )
        assert breaches(it, logged) == []

    def test_a_link_to_work_that_has_begun_binds_no_more(self):
        """The base was begun before the digging: nobody can choose its start now."""
        it = world(
            work("dig", 1),
            work("base", 1, "south", done=Done(june(9), None, "south")),
            ties=(tie("dig", "base", at_most=HOUR),),
            now=self.NOW,
        )
        placed = plan(dig=at(june(11), june(11)), base=at(june(9), june(10), "south"))
        assert breaches(it, placed) == []

    def test_new_work_waits_for_what_is_done(self):
        """Poured on Tuesday, walked on after two days: Thursday 15:30 is over by Friday only."""
        poured = Done(june(9), june(9, LAST), "north")
        it = world(
            work("pour", 4, done=poured, keepouts=(Keepout("patio", 2 * DAY, Tread.FOOT),)),
            work("lay", treads={"patio": Tread.FOOT}),
            now=self.NOW,
        )
        fact = at(june(9), june(9, LAST))
        assert breaches(it, plan(pour=fact, lay=at(june(11, LAST), june(11, LAST)))) == [
            ("keepout", ("pour", "lay"))
        ]
        assert breaches(it, plan(pour=fact, lay=at(june(12), june(12)))) == []

    def test_new_work_does_not_take_a_running_crew(self):
        """North is still digging on Wednesday morning."""
        it = world(work("dig", 2, done=Done(june(9), None, "north")), work("base"), now=self.NOW)
        placed = plan(
            dig=at(june(9), june(10, SECOND)), base=at(june(10, SECOND), june(10, SECOND))
        )
        assert breaches(it, placed) == [("crew-twice", ("dig", "base"))]


class TestWhen:
    """Not in the past, not before the yard is ours, and as pinned by hand."""

    @pytest.mark.parametrize(
        ("changes", "kind", "said"),
        [
            (
                {"now": june(9, SECOND)},
                "past",
                "dig is planned for Tue 9 Jun, 7:00 am, but nothing new can begin "
                "before Tue 9 Jun, 9:00 am.",
            ),
            (
                {"jobs": {"oak": job(release=june(10, DAWN))}},
                "release",
                "dig is planned for Tue 9 Jun, 7:00 am, but this yard is not ours "
                "before Wed 10 Jun, 5:00 am.",
            ),
        ],
    )
    def test_too_early_is_refused(self, changes, kind, said):
        """Planned for Tuesday first thing."""
        it = world(work("dig", 2), **changes)
        placed = plan(dig=at(june(9), june(9, SECOND)))
        assert breaches(it, placed) == [(kind, ("dig",))]
        assert sentences(it, placed) == [said]

    @pytest.mark.parametrize(
        ("pin", "kind"),
        [
            (Pin(not_before=june(9, SECOND)), "pin-before"),
            (Pin(not_after=june(9, FIRST)), "pin-after"),
            (Pin(crew="south"), "pin-crew"),
        ],
    )
    def test_pins_are_kept(self, pin, kind):
        """Tuesday's first two slots by north, against what was fixed by hand."""
        it = world(work("dig", 2, "north south", pin=pin))
        assert breaches(it, plan(dig=at(june(9), june(9, SECOND)))) == [(kind, ("dig",))]

    def test_a_plan_inside_its_pins_passes(self):
        """From the first slot to the last one allowed, by the crew named."""
        pin = Pin(not_before=june(9), not_after=june(9, SECOND), crew="north")
        it = world(work("dig", 2, "north south", pin=pin), now=june(9))
        assert breaches(it, plan(dig=at(june(9), june(9, SECOND)))) == []


class TestWho:
    """An able crew, nobody for outside work, and the machines needed."""

    def test_crew_must_be_able(self):
        """South cannot dig; a work for a crew needs one; a crew nobody knows is no crew."""
        it = world(work("dig"))
        assert breaches(it, plan(dig=at(june(8), june(8), "south"))) == [("crew-unable", ("dig",))]
        assert sentences(it, plan(dig=at(june(8), june(8), "south"))) == [
            "dig is given to south crew, who is not able to do it."
        ]
        assert breaches(it, plan(dig=at(june(8), june(8), ""))) == [("crew-none", ("dig",))]
        assert sentences(it, plan(dig=at(june(8), june(8), "east"))) == [
            "dig is given to east, who is not able to do it."
        ]

    def test_outside_work_holds_none_of_our_crews(self):
        """The inspector comes by himself."""
        it = world(work("inspect", 1, ""))
        assert breaches(it, plan(inspect=at(june(8), june(8), ""))) == []
        assert breaches(it, plan(inspect=at(june(8), june(8), "north"))) == [
            ("crew-outside", ("inspect",))
        ]

    def test_each_crew_has_its_own_length(self):
        """Three slots for north, two for south."""
        it = world(replace(work("dig", 3), crews={"north": 3, "south": 2}))
        assert breaches(it, plan(dig=at(june(8), june(8, SECOND), "south"))) == []
        assert breaches(it, plan(dig=at(june(8), june(8, SECOND), "north"))) == [
            ("length", ("dig",))
        ]

    @pytest.mark.parametrize(
        "units",
        [
            (),
            (("saw", 0),),
            (("saw", 0), ("saw", 0)),
            (("saw", 0), ("saw", 2)),
            (("saw", -1), ("saw", 0)),
            (("saw", 0), ("saw", 1), ("loader", 0)),
            (("saw", 0), ("saw", 1), ("crane", 0)),
            (("saw", 0), ("loader", 0)),
        ],
    )
    def test_machines_must_be_those_needed(self, units):
        """Two saws are needed: none, too few, one twice, one that is not there, one too many."""
        it = world(work("cut", machines={"saw": 2}))
        assert breaches(it, plan(cut=at(june(8), june(8), "north", *units))) == [
            ("machines", ("cut",))
        ]

    def test_machines_may_be_held_in_any_order(self):
        """Two saws of two."""
        it = world(work("cut", machines={"saw": 2}))
        assert breaches(it, plan(cut=at(june(8), june(8), "north", ("saw", 1), ("saw", 0)))) == []


class TestOpenSlots:
    """Work begins in an open slot and ends in the n-th."""

    def test_slots_lost_to_too_few_people_do_not_count(self):
        """Of four slots the last of Mon 8 is lost to north, not to south: one more on Tue 9."""
        lost = {"north": 1 << june(8, LAST)}
        it = world(work("dig", 4, "north south", short=lost))
        assert breaches(it, plan(dig=at(june(8), june(9)))) == []
        assert breaches(it, plan(dig=at(june(8), june(8, LAST), "south"))) == []
        assert breaches(it, plan(dig=at(june(8), june(8, LAST)))) == [("length", ("dig",))]

    def test_work_goes_on_after_the_weekend(self):
        """Six slots from Friday morning: four on Friday, two on Monday."""
        it = world(work("dig", 6))
        assert breaches(it, plan(dig=at(june(12), june(15, SECOND)))) == []
        for end in (june(12, LAST), june(15, FIRST), june(15, THIRD)):
            assert breaches(it, plan(dig=at(june(12), end))) == [("length", ("dig",))]

    @pytest.mark.parametrize(
        "changes",
        [
            {"crews": {"north": crew("north", week(off=(date(2026, 6, 9),)))}},
            {"jobs": {"oak": job(open=week(off=(date(2026, 6, 9),)))}},
            {"machines": {"saw": Machine("saw", "saw", (week(off=(date(2026, 6, 9),)), ALWAYS))}},
            {
                "works": {
                    "cut": work("cut", 2, window=week(off=(date(2026, 6, 9),)), machines={"saw": 1})
                }
            },
        ],
        ids=["crew", "yard", "machine", "window"],
    )
    def test_a_day_off_of_anybody_concerned_is_jumped(self, changes):
        """Tuesday off: two slots from Monday's last end on Wednesday; a start on Tuesday is refused."""
        it = world(work("cut", 2, machines={"saw": 1}), **changes)
        over = at(june(8, LAST), june(10, FIRST), "north", ("saw", 0))
        assert breaches(it, plan(cut=over)) == []
        on_the_day_off = at(june(9), june(9, SECOND), "north", ("saw", 0))
        assert breaches(it, plan(cut=on_the_day_off)) == [("closed", ("cut",))]

    def test_another_unit_may_be_open(self):
        """The first saw is in the shop on Tuesday; the second is not."""
        shop = week(off=(date(2026, 6, 9),))
        it = world(
            work("cut", machines={"saw": 1}),
            machines={"saw": Machine("saw", "saw", (shop, ALWAYS))},
        )
        assert breaches(it, plan(cut=at(june(9), june(9), "north", ("saw", 1)))) == []

    def test_shifts_keep_to_their_own_slots(self):
        """Evening work cannot begin by day, nor day work at dawn."""
        it = world(
            work("aim", shift=Shift.EVENING), work("dig"), crews={"north": crew("north", ALWAYS)}
        )
        right = plan(aim=at(june(8, EVENING), june(8, EVENING)), dig=at(june(8), june(8)))
        assert breaches(it, right) == []
        wrong = plan(aim=at(june(8, LAST), june(8, LAST)), dig=at(june(9, DAWN), june(9, DAWN)))
        assert breaches(it, wrong) == [("closed", ("aim",)), ("closed", ("dig",))]

    def test_work_that_never_ends_within_the_axis_is_refused(self):
        """Two slots from the last day slot of the fourth Friday, closed from then on."""
        last = june(26, LAST) + 7 * 6
        it = world(work("dig", 2))
        assert breaches(it, plan(dig=at(last, last))) == [("length", ("dig",))]

    def test_one_go_work_stays_within_its_day(self):
        """A pour of three slots may not begin at noon and end the next day."""
        it = world(work("pour", 3, one_go=True))
        assert breaches(it, plan(pour=at(june(8, SECOND), june(8, LAST)))) == []
        assert breaches(it, plan(pour=at(june(8, THIRD), june(9, FIRST)))) == [
            ("one-go", ("pour",))
        ]
        assert sentences(it, plan(pour=at(june(8, THIRD), june(9, FIRST)))) == [
            "pour must be done in one go, but runs from Mon 8 Jun to Tue 9 Jun."
        ]
