"""The judge on works that share a crew, a machine, ground, a yard or a way in.

All dates can be counted on the fingers: 8 June 2026 is a Monday, a day has four day slots.
"""

from __future__ import annotations

from datetime import date

import pytest

from jobs.scheduling.world import Place
from jobs.trade.work import Shift
from tests.judging import breaches, moved, sentences
from tests.worlds import (
    ALWAYS,
    EVENING,
    FIRST,
    LAST,
    SECOND,
    THIRD,
    at,
    crew,
    job,
    june,
    plan,
    week,
    work,
    world,
)


class TestSharing:
    """One thing at a time for crews and machines, so many at once in zones, yards and ways in."""

    def test_a_crew_does_one_thing_at_a_time(self):
        """Two works on Monday's second slot; one after the other is fine."""
        it = world(work("dig", 2), work("base", 2))
        clash = plan(dig=at(june(8), june(8, SECOND)), base=at(june(8, SECOND), june(8, THIRD)))
        assert breaches(it, clash) == [("crew-twice", ("dig", "base"))]
        assert sentences(it, clash) == [
            "north crew is on two things at once from Mon 8 Jun, 9:00 am: dig + base."
        ]
        after = plan(dig=at(june(8), june(8, SECOND)), base=at(june(8, THIRD), june(8, LAST)))
        assert breaches(it, after) == []

    def test_a_crew_is_held_over_closed_slots(self):
        """The yard is closed on Tuesday; north is still bound to it and not free for another."""
        it = world(
            work("dig", 2),
            work("base", job="elm"),
            jobs={"oak": job(open=week(off=(date(2026, 6, 9),))), "elm": job("elm")},
        )
        placed = plan(dig=at(june(8, LAST), june(10)), base=at(june(9), june(9)))
        assert breaches(it, placed) == [("crew-twice", ("dig", "base"))]

    def test_a_crew_that_is_lent_is_held_too(self):
        """South helps north on Monday morning, and cannot lay a base meanwhile; after lunch it can."""
        it = world(work("dig", 2, lent="south"), work("base", 1, "south"))
        dig = at(june(8), june(8, SECOND))
        assert breaches(it, plan(dig=dig, base=at(june(8, SECOND), june(8, SECOND), "south"))) == [
            ("crew-twice", ("dig", "base"))
        ]
        assert breaches(it, plan(dig=dig, base=at(june(8, THIRD), june(8, THIRD), "south"))) == []

    def test_a_work_goes_on_when_both_crews_are_there(self):
        """South is off on Tuesday: six slots from Monday on end on Wednesday."""
        off = week(off=(date(2026, 6, 9),))
        crews = {"north": crew("north"), "south": crew("south", off)}
        it = world(work("dig", 6, lent="south"), crews=crews)
        assert breaches(it, plan(dig=at(june(8), june(10, SECOND)))) == []
        assert breaches(it, plan(dig=at(june(8), june(9, SECOND)))) == [("length", ("dig",))]

    def test_evening_work_stands_inside_day_work(self):
        """North digs Monday and Tuesday, and aims lights on Monday evening."""
        it = world(
            work("dig", 8),
            work("aim", shift=Shift.EVENING, place="patio"),
            crews={"north": crew("north", ALWAYS)},
            jobs={"oak": job(crews=1)},
        )
        placed = plan(dig=at(june(8), june(9, LAST)), aim=at(june(8, EVENING), june(8, EVENING)))
        assert breaches(it, placed) == []

    def test_a_machine_is_in_one_place(self):
        """One loader, two crews; held over the evening too, for machines know no shifts."""
        it = world(
            work("dig", 5, machines={"loader": 1}),
            work("lift", 1, "south", machines={"loader": 1}, shift=Shift.EVENING),
            crews={"north": crew("north"), "south": crew("south", ALWAYS)},
        )
        loader = ("loader", 0)
        held = plan(
            dig=at(june(8), june(9), "north", loader),
            lift=at(june(8, EVENING), june(8, EVENING), "south", loader),
        )
        assert breaches(it, held) == [("machine-twice", ("dig", "lift"))]
        free = plan(
            dig=at(june(8), june(9), "north", loader),
            lift=at(june(9, EVENING), june(9, EVENING), "south", loader),
        )
        assert breaches(it, free) == []

    @pytest.mark.parametrize(
        ("place", "most", "kind"), [("patio", 1, "zone-full"), ("lawn", 2, "zone-full")]
    )
    def test_a_zone_takes_so_many_crews(self, place, most, kind):
        """One more crew than there is room for, at the same time and then after another."""
        names = ["a", "b", "c"][: most + 1]
        crews = dict(zip("abc", ["north", "south", "stone"], strict=True))
        it = world(*(work(n, 2, crews[n], place=place) for n in names))
        together = plan(**{n: at(june(8), june(8, SECOND), crews[n]) for n in names})
        assert breaches(it, together) == [(kind, tuple(names))]
        last = names[-1]
        apart = moved(together, **{last: at(june(8, THIRD), june(8, LAST), crews[last])})
        assert breaches(it, apart) == []

    def test_people_always_pass_a_passage(self):
        """A place without a number of crews is never full."""
        it = world(work("a", place="gate"), work("b", 1, "south", place="gate"))
        assert breaches(it, plan(a=at(june(8), june(8)), b=at(june(8), june(8), "south"))) == []

    def test_outside_work_takes_no_room(self):
        """The inspector stands beside the crew."""
        it = world(
            work("a", place="patio"), work("b", 1, "", place="patio"), jobs={"oak": job(crews=1)}
        )
        assert breaches(it, plan(a=at(june(8), june(8)), b=at(june(8), june(8), ""))) == []

    def test_a_yard_takes_two_crews(self):
        """Three crews in three places of a yard for two."""
        it = world(
            work("a", place="patio"),
            work("b", 1, "south", place="lawn"),
            work("c", 1, "stone"),
            jobs={"oak": job(crews=2)},
        )
        spots = {"a": "north", "b": "south", "c": "stone"}
        placed = plan(**{n: at(june(8), june(8), who) for n, who in spots.items()})
        assert breaches(it, placed) == [("yard-full", ("a", "b", "c"))]
        assert sentences(it, placed) == [
            "Too many crews in the yard oak street from Mon 8 Jun, 7:00 am, room for 2: a + b + c."
        ]

    def test_a_way_in_carries_so_much_a_slot(self):
        """Sixty and sixty percent of the gate do not go; told once for the two slots; forty goes."""
        it = world(
            work("a", 2, hauls={"gate": 60}),
            work("b", 2, "south", hauls={"gate": 60}),
            work("c", 2, "stone", hauls={"gate": 40}),
        )
        two = (june(8), june(8, SECOND))
        after = (june(8, THIRD), june(8, LAST))
        full = plan(a=at(*two), b=at(*two, "south"), c=at(*after, "stone"))
        assert breaches(it, full) == [("passage-full", ("a", "b"))]
        assert sentences(it, full) == [
            "side gate cannot carry it all around Mon 8 Jun, 7:00 am: "
            "120 percent is wanted of 100 there is (a + b)."
        ]
        assert breaches(it, plan(a=at(*two), b=at(*after, "south"), c=at(*two, "stone"))) == []

    def test_a_narrow_way_in_carries_less(self):
        """Half of every slot belongs to the neighbour: sixty percent never go."""
        it = world(
            work("a", hauls={"gate": 60}), places={"gate": Place("gate", "gate", None, share=50)}
        )
        assert breaches(it, plan(a=at(june(8), june(8)))) == [("passage-full", ("a",))]

    def test_closed_slots_carry_nothing(self):
        """North's yard work stands still on Tuesday while south hauls."""
        it = world(
            work("a", 2, hauls={"gate": 60}),
            work("b", 1, "south", hauls={"gate": 60}),
            crews={"north": crew("north", week(off=(date(2026, 6, 9),))), "south": crew("south")},
        )
        placed = plan(a=at(june(8, LAST), june(10)), b=at(june(9), june(9), "south"))
        assert breaches(it, placed) == []


NEAR = {"oak": job(), "elm": job("elm")}
FAR = {
    "oak": job(near=frozenset()),
    "elm": job("elm", near=frozenset({"oak"})),
}
TWO_YARDS = (work("dig"), work("base", job="elm"))


class TestYards:
    """A crew changes yards at lunch, and drives only with time for it."""

    def test_no_change_within_a_half_day(self):
        """Two yards in one morning are refused, morning and afternoon are not."""
        it = world(*TWO_YARDS, jobs=NEAR)
        morning = plan(dig=at(june(8), june(8)), base=at(june(8, SECOND), june(8, SECOND)))
        assert breaches(it, morning) == [("half-day", ("dig", "base"))]
        lunch = plan(
            dig=at(june(8, SECOND), june(8, SECOND)), base=at(june(8, THIRD), june(8, THIRD))
        )
        assert breaches(it, lunch) == []

    def test_two_works_of_one_yard_share_a_morning(self):
        """Only yards matter, not works."""
        it = world(work("dig"), work("base"), jobs=FAR)
        placed = plan(dig=at(june(8), june(8)), base=at(june(8, SECOND), june(8, SECOND)))
        assert breaches(it, placed) == []

    def test_a_crew_that_is_lent_changes_yards_at_lunch_too(self):
        """South helps in oak street till nine, and begins in elm street at nine: not before lunch."""
        it = world(work("dig", 1, lent="south"), work("lay", 1, "south", job="elm"))
        early = plan(dig=at(june(8), june(8)), lay=at(june(8, SECOND), june(8, SECOND), "south"))
        assert breaches(it, early) == [("half-day", ("dig", "lay"))]
        later = plan(dig=at(june(8), june(8)), lay=at(june(8, THIRD), june(8, THIRD), "south"))
        assert breaches(it, later) == []

    def test_a_drive_takes_a_slot(self):
        """Far yards: no change at lunch without an open slot between, whichever yard says so."""
        it = world(*TWO_YARDS, jobs=FAR)
        lunch = plan(
            dig=at(june(8, SECOND), june(8, SECOND)), base=at(june(8, THIRD), june(8, THIRD))
        )
        assert breaches(it, lunch) == [("drive", ("dig", "base"))]
        back = plan(
            base=at(june(8, SECOND), june(8, SECOND)), dig=at(june(8, THIRD), june(8, THIRD))
        )
        assert breaches(it, back) == [("drive", ("base", "dig"))]
        driven = plan(dig=at(june(8), june(8)), base=at(june(8, THIRD), june(8, THIRD)))
        assert breaches(it, driven) == []
        night = plan(dig=at(june(8, LAST), june(8, LAST)), base=at(june(9), june(9)))
        assert breaches(it, night) == []

    def test_a_closed_slot_is_no_time_to_drive(self):
        """North does not work in the second slot: it counts for nothing between two yards."""
        off = week(positions=(FIRST, THIRD, LAST))
        it = world(*TWO_YARDS, jobs=FAR, crews={"north": crew("north", off)})
        placed = plan(dig=at(june(8), june(8)), base=at(june(8, THIRD), june(8, THIRD)))
        assert breaches(it, placed) == [("drive", ("dig", "base"))]
