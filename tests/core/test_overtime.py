"""Optional Saturdays, by hand: 8 June 2026 is a Monday, a crew works four slots a day.

Saturdays are 13 and 20 June, days 5 and 12 of the axis.
"""

from __future__ import annotations

from functools import partial

import pytest

from jobs.scheduling.asking.overtime import (
    MOST_BUILDS,
    Grant,
    Saving,
    late_days,
    optional_days,
    plan_overtime,
    used,
    with_days,
)
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.search.dispatch import build_plan, build_quickly
from jobs.scheduling.storm.lost import Loss, lose
from jobs.scheduling.world import Crew
from tests.worlds import JUNE, LAST, at, job, june, plan, tie, week, work, world

SATURDAYS = week(weekdays=(5,))
FIRST, SECOND = 5, 12


def willing(name: str, optional: int = SATURDAYS) -> Crew:
    """A crew that may be asked for Saturdays."""
    return Crew(name, f"{name} crew", week(), optional)


def yard(*works, promise: int, **changes):
    """One yard with a promise, and two crews of which north may be asked."""
    crews = {"north": willing("north"), "south": Crew("south", "south crew", week())}
    given = {"crews": crews, "jobs": {"oak": job(promise=promise)}} | changes
    return world(*works, **given)


def asked(it):
    """What is asked for in a world, its best plan without any being the first."""
    return plan_overtime(it, build_plan(it), build_quickly)


def test_nothing_is_asked_where_promises_are_kept():
    """Five days of work, promised for the Friday."""
    assert asked(yard(work("dig", 20), promise=june(12, LAST))) is None


def test_one_saturday_saves_two_days():
    """Six days of work end on Mon 15 without, on Sat 13 with; promised was the Saturday."""
    it = yard(work("dig", 24), promise=june(13, LAST))
    found = asked(it)
    assert found.savings == (Saving(Grant("north", FIRST), (("oak", 2),)),)
    assert found.result.plan["dig"].end == june(13, LAST)
    assert judge_plan(found.world, found.result.plan).sound
    assert not judge_plan(it, found.result.plan).sound


def test_as_many_as_help():
    """Twelve days end on Tue 23 without, on Mon 22 with either Saturday, on Sat 20 with both.

    Promised was Thu 18: two days late instead of five, and without either four.
    """
    found = asked(yard(work("dig", 48), promise=june(18, LAST)))
    assert late_days(found.world, found.result.plan) == {"oak": 2}
    assert found.savings == (
        Saving(Grant("north", FIRST), (("oak", 2),)),
        Saving(Grant("north", SECOND), (("oak", 2),)),
    )


def test_a_saturday_that_saves_nothing_is_not_asked_for():
    """Seven days end on Tue 16: with Sat 13 on Mon 15. Sat 20 is never in question."""
    found = asked(yard(work("dig", 28), promise=june(15, LAST)))
    assert [saving.grant for saving in found.savings] == [Grant("north", FIRST)]


def test_a_crew_that_cannot_help_is_not_asked():
    """South does the work, and only north may be asked."""
    assert asked(yard(work("dig", 24, "south"), promise=june(13, LAST))) is None


def test_a_wait_is_not_shortened_by_a_saturday():
    """A week of cure after Fri 12 ends on Fri 19 at night: the 13th is no use, the 20th is."""
    works = (work("pour", 20), work("lay", 1))
    it = yard(*works, ties=(tie("pour", "lay", 7 * 24 * 60),), promise=june(18, LAST))
    assert [saving.grant.day for saving in asked(it).savings] == [SECOND]


def test_a_promise_that_is_missed_all_the_same_is_missed_by_less():
    """Promised for Wed 10: Mon 15 becomes Sat 13, five days late become three."""
    found = asked(yard(work("dig", 24), promise=june(10, LAST)))
    assert late_days(found.world, found.result.plan) == {"oak": 3}
    assert found.savings[0].jobs == (("oak", 2),)


def test_days_that_are_over_are_not_asked_for():
    """On Sat 13 at noon only the 20th is left."""
    it = yard(work("dig", 24), promise=june(13, LAST), now=june(13, 3))
    assert [grant.day for grant in optional_days(it)] == [SECOND, 19, 26]


def test_a_lost_saturday_cannot_be_asked_for():
    """Rain on the 13th."""
    it = yard(work("dig", 24), promise=june(13, LAST))
    rain = 0b111111 << JUNE.slot(JUNE.day(june(13, 1)), 0)
    wet = lose(it, [Loss(rain, crews=frozenset({"north"}))])
    assert Grant("north", FIRST) not in optional_days(wet)


def test_only_days_worked_are_kept():
    """Of two Saturdays granted the plan works on the first."""
    it = with_days(
        yard(work("dig", 24), promise=june(13, LAST)),
        [Grant("north", FIRST), Grant("north", SECOND)],
    )
    placed = plan(dig=at(june(8), june(13, LAST)))
    assert used(it, placed, (Grant("north", FIRST), Grant("north", SECOND))) == (
        Grant("north", FIRST),
    )


def test_the_number_of_plans_is_bounded():
    """Whatever there is to try: at most so many, and one for each day kept."""
    built = []

    def build(it):
        built.append(it)
        return build_quickly(it)

    works = [work(f"w{n}", 7, "north east west") for n in range(9)]
    crews = {name: willing(name) for name in ("north", "east", "west")}
    it = yard(*works, promise=june(10, LAST), crews=crews)
    found = plan_overtime(it, build_plan(it), partial(build))
    assert found is not None
    assert len(built) <= MOST_BUILDS + len(found.savings)


@pytest.mark.parametrize("weight", [1, 5])
def test_the_dearer_promise_decides(weight):
    """Oak and elm share north; whatever the weights, no promise may be missed by more in all."""
    jobs = {
        "oak": job(promise=june(10, LAST), weight=weight),
        "elm": job("elm", promise=june(12, LAST)),
    }
    it = yard(work("dig", 14), work("lay", 14, job="elm"), promise=0, jobs=jobs)
    base = build_plan(it)
    found = plan_overtime(it, base, build_quickly)
    assert found is None or found.result.score.late < base.score.late
