"""The judge: a right plan passes; a plan with one thing wrong is refused for just that thing.

All dates can be counted on the fingers: 8 June 2026 is a Monday, a day has four day slots.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from jobs.scheduling.judge import judge_plan
from jobs.scheduling.result import Plan, Score
from jobs.scheduling.world import Done, Keepout, Machine, Pin, Place
from jobs.services.words import say
from jobs.trade.work import Clock, Relation, Shift, Tread
from tests.worlds import (
    ALWAYS,
    CHICAGO,
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
    crew,
    job,
    june,
    patio,
    plan,
    tie,
    week,
    work,
    world,
)


def breaches(it, placed):
    """Kinds and works of what is wrong."""
    return [(b.kind, b.works) for b in judge_plan(it, placed).breaches]


def sentences(it, placed):
    """What is wrong, in English."""
    return [say(b.sentence) for b in judge_plan(it, placed).breaches]


def moved(placed, **changes):
    """The plan with some works placed otherwise."""
    return Plan({**placed.placements, **plan(**changes).placements})


class TestPatio:
    """A whole little job, right and then wrong in one place."""

    def test_right_plan_is_sound(self):
        """Every link, wait, hold, shift and day off is kept."""
        verdict = judge_plan(*patio())
        assert verdict.breaches == ()
        assert verdict.sound

    def test_score_counts_days_late_by_weight_and_the_last_slot(self):
        """Promised Mon 22, done Tue 23: one day at weight 3; Tue 23 is day 15, second day slot 2."""
        assert judge_plan(*patio()).score == Score(late=3, finish=15 * 6 + 2)

    def test_stone_before_the_cure_is_over_is_refused(self):
        """Poured till Thu 11 13:30, seven days: not before Thu 18 13:30; the crew is at work then."""
        it, placed = patio()
        it = replace(it, crews={**it.crews, "stone": crew("stone")})
        early = moved(placed, set_stone=at(june(18, THIRD), june(22, LAST), "stone"))
        assert breaches(it, early) == [
            ("wait", ("pour slab", "set stone")),
            ("keepout", ("pour slab", "set stone")),
        ]
        assert sentences(it, early) == [
            "set stone begins Thu 18 Jun, 11:30 am, but after pour slab it must wait "
            "until Thu 18 Jun, 1:30 pm.",
            "set stone is on patio from Thu 18 Jun, 11:30 am, but after pour slab it must be "
            "kept clear until Thu 18 Jun, 1:30 pm.",
        ]
        sharp = moved(placed, set_stone=at(june(18, LAST), june(23, FIRST), "stone"))
        assert breaches(it, sharp) == []

    def test_joints_sawn_a_day_later_are_too_late(self):
        """Poured till 13:30 on Thursday, 24 hours: Friday evening is too late."""
        it, placed = patio()
        late = moved(placed, saw_joints=at(june(12, EVENING), june(12, EVENING), "south"))
        assert breaches(it, late) == [("at-most", ("pour slab", "saw joints"))]
        assert sentences(it, late) == [
            "saw joints begins Fri 12 Jun, 8:00 pm, but because of pour slab "
            "it must begin by Fri 12 Jun, 1:30 pm."
        ]


class TestPresence:
    """Every work once, nothing else, within the days that are planned."""

    def test_a_work_left_out_is_missed(self):
        """A plan without a place for a work is no plan."""
        it = world(work("dig"), work("base"))
        assert breaches(it, plan(dig=at(june(8), june(8)))) == [("missing", ("base",))]
        assert sentences(it, plan(dig=at(june(8), june(8)))) == [
            "base is not planned. Plan again, or give it a place."
        ]

    def test_a_work_nobody_asked_for_is_refused(self):
        """A stray placement is named."""
        it = world(work("dig"))
        placed = plan(dig=at(june(8), june(8)), moat=at(june(9), june(9)))
        assert breaches(it, placed) == [("unknown", ("moat",))]

    @pytest.mark.parametrize(
        "placed",
        [at(-6, -6), at(JUNE.size, JUNE.size), at(june(9), JUNE.size), at(june(9), june(8))],
    )
    def test_slots_off_the_axis_are_refused(self, placed):
        """Before its begin, past its end, across its end, or back to front: nothing more is said."""
        it = world(work("dig"), work("base"), ties=(tie("dig", "base"), tie("base", "dig")))
        assert breaches(it, plan(dig=placed, base=at(june(8), june(8)))) == [("off-axis", ("dig",))]

    def test_an_empty_world_has_an_empty_plan(self):
        """Nothing to do is done at once."""
        verdict = judge_plan(world(), plan())
        assert (verdict.breaches, verdict.score) == ((), Score(0, 0))


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
            "base begins Mon 8 Jun, 1:30 pm: 2 quarter days of working time after dig, "
            "where 3 are needed."
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


class TestScore:
    """Late days by weight first, then last counted slots."""

    def test_return_visits_do_not_count(self):
        """The walk-through on Monday ends the job; weeding on Friday does not."""
        it = world(work("walk"), work("weed", counts=False))
        placed = plan(walk=at(june(8), june(8)), weed=at(june(12), june(12)))
        assert judge_plan(it, placed).score == Score(0, june(8))

    def test_late_days_are_calendar_days(self):
        """Promised Friday 12, done Monday 15: three days, at weight 2 six; elm is early: none."""
        it = world(
            work("dig", 1),
            work("plant", 1, "south", job="elm"),
            jobs={
                "oak": job(promise=june(12, FIRST), weight=2),
                "elm": job("elm", promise=june(20, LAST)),
            },
        )
        placed = plan(dig=at(june(15), june(15)), plant=at(june(9), june(9), "south"))
        assert judge_plan(it, placed).score == Score(6, june(15) + june(9))

    def test_the_promised_day_lasts_to_its_evening(self):
        """Promised for Friday's first slot, done with Friday's last: not late."""
        it = world(work("dig"), jobs={"oak": job(promise=june(12, FIRST))})
        assert judge_plan(it, plan(dig=at(june(12, LAST), june(12, LAST)))).score == Score(
            0, june(12, LAST)
        )
