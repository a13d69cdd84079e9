"""Why is a job not done sooner? What is said of its finish has been tried, and the judge agrees."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, assume, event, given, settings

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.reasons.finish_reasons import finish_of, why_not_done_sooner
from jobs.scheduling.reasons.retime import bring_forward
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.world import Pin
from jobs.services.telling.words import say
from tests.worlds import DAY, LAST, Size, at, job, june, patio, plan, tie, work, world, worlds

SMALL = Size(works=6, slots=4, days=70)
patient = settings(deadline=None, suppress_health_check=list(HealthCheck))


def told(it, placed, name="oak"):
    """What holds a finish, the day it could be without that, and the working days that is sooner."""
    axis = it.axis
    return [
        (say(reason.sentence), axis.day(reason.finish).day, reason.days)
        for reason in why_not_done_sooner(it, placed, name)
    ]


class TestByHand:
    """Dates on the fingers."""

    def test_a_cure_holds_the_patio(self):
        """Without its seven days, ground at rest included, stone is set from Thu 11 13:30 to Tue 16 9:00."""
        it, placed = patio()
        assert told(it, placed)[0] == (
            "Thu 18 Jun at the earliest: pour slab is done Thu 11 Jun, and set stone must wait 7 days.",
            16,
            5.25,
        )

    def test_a_crew_in_another_yard_and_then_a_wait(self):
        """North digs at Elm Street on Mon 8; then stone waits two days for the base."""
        it = world(
            work("dig elm", 4, job="elm"), work("base"), work("lay", 4, "stone"),
            ties=(tie("base", "lay", 2 * DAY),),
        )  # fmt: skip
        placed = plan(
            dig_elm=at(june(8), june(8, LAST)), base=at(june(9), june(9)),
            lay=at(june(11, 2), june(12), "stone"),
        )  # fmt: skip
        assert told(it, placed) == [
            (
                "Thu 11 Jun at the earliest: base is done Tue 9 Jun, and lay must wait 2 days.",
                10,
                2.0,
            ),
            (
                "Tue 9 Jun at the earliest: north crew is in another yard (elm street) with dig elm "
                "until Mon 8 Jun, 3:30 pm, and changes yards only at lunch or overnight.",
                9,
                1.0,
            ),
        ]

    def test_a_machine_that_another_yard_has(self):
        """A second loader brings the finish a day forward."""
        loader = {"loader": 1}
        it = world(
            work("dig", 4, "south", machines=loader, job="elm"), work("haul", 4, machines=loader)
        )
        placed = plan(
            dig=at(june(8), june(8, LAST), "south", ("loader", 0)),
            haul=at(june(9), june(9, LAST), "north", ("loader", 0)),
        )
        assert [days for _, _, days in told(it, placed)] == [1.0]

    def test_a_day_fixed_by_hand_and_the_day_the_yard_is_ours(self):
        """Not before Thu 11 by hand; ours from Tue 9."""
        it = world(
            work("lay", pin=Pin(not_before=june(11))),
            jobs={"oak": job(release=june(9)), "elm": job("elm")},
        )
        placed = build_plan(it).plan
        assert [(day, days) for _, day, days in told(it, placed)] == [(9, 2.0), (8, 1.0)]

    def test_where_one_work_follows_the_other_nothing_holds_it(self):
        """Eight days of work for one crew take eight days."""
        it = world(work("dig", 16), work("lay", 16), ties=(tie("dig", "lay"),))
        assert told(it, build_plan(it).plan) == []


def built(it):
    """A plan of a world in which all yards are near: drives are left to the builder."""
    it = replace(it, jobs={name: replace(yard, near=None) for name, yard in it.jobs.items()})
    try:
        return it, build_plan(it, rules=("late start",)).plan
    except NoPlan:
        assume(False)
        raise


@patient
@given(worlds(SMALL))
def test_brought_forward_a_plan_stays_sound_and_nothing_is_later(it):
    """Every crew keeps its turns; the judge finds nothing wrong."""
    it, placed = built(it)
    brought = bring_forward(it, placed)
    assert [breach.kind for breach in judge_plan(it, brought).breaches] == []
    for name in it.works:
        assert brought[name].start <= placed[name].start
        assert brought[name].end <= placed[name].end


@patient
@given(worlds(SMALL))
def test_what_is_said_of_a_finish_can_be_done(it):
    """Without what holds it, the judge accepts a plan that is done on the day said; and so for the next."""
    it, placed = built(it)
    for name in {w.job for w in it.works.values() if w.counts}:
        stands = finish_of(it, bring_forward(it, placed), name)
        for reason in why_not_done_sooner(it, placed, name):
            event(reason.sentence.key)
            assert judge_plan(reason.world, reason.plan).sound
            assert finish_of(reason.world, reason.plan, name) == reason.finish < stands
            stands = reason.finish
