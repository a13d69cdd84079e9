"""What is published is part of the objective: a re-plan keeps it unless promises gain, and tomorrow stays."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings

from jobs.scheduling.budget import Tries
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.levelling import solve_part
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.placing.board import Board
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Plan, Score
from jobs.scheduling.search.dispatch import build_plan, build_quickly
from jobs.scheduling.search.make_plan import make_plan
from jobs.scheduling.search.neighbourhoods import Parts
from jobs.scheduling.search.published import day_weights, next_day, settled
from jobs.scheduling.search.search import Search
from jobs.scheduling.upset import changed, tours
from jobs.scheduling.weights import LATER, NEXT_DAY, NEXT_WEEK, THIS_WEEK
from jobs.services.bench.invented import invented_portfolio
from tests.worlds import (
    EVENING,
    FIRST,
    LAST,
    at,
    crew,
    job,
    june,
    plan,
    tie,
    week,
    work,
    world,
    worlds,
)

patient = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def crossed(**changes):
    """North digs two yards, a day each; stone sets oak in one day and elm in two, after the digs."""
    return world(
        work("oak dig", 4),
        work("oak stone", 4, "stone"),
        work("elm dig", 4, job="elm"),
        work("elm stone", 8, "stone", job="elm"),
        ties=(tie("oak dig", "oak stone"), tie("elm dig", "elm stone")),
        **changes,
    )


ELM_FIRST = plan(
    elm_dig=at(june(8), june(8, LAST)),
    oak_dig=at(june(9), june(9, LAST)),
    elm_stone=at(june(9), june(10, LAST), "stone"),
    oak_stone=at(june(11), june(11, LAST), "stone"),
)
"""One slot of a calendar day more in all than oak first, but people know it."""


def told(made, published):
    """The same world in which a plan is on phones."""
    return replace(made, published=published.placements)


def changed_world(drawn):
    """A drawn world with its quick plan published, then without what makes some works wait."""
    try:
        published = build_quickly(drawn, seed=1).plan
    except NoPlan:
        assume(False)
        raise
    return replace(drawn, ties=drawn.ties[::2], published=published.placements)


@pytest.mark.parametrize("solver", [None, solve_part])
def test_an_unchanged_world_gives_back_what_is_published(solver):
    """Though oak first would end two slots sooner in all: nobody is rung up for that."""
    assert make_plan(crossed(), stop=Tries(20), solver=solver).score.finish < sum(
        (june(10, LAST), june(11, LAST))
    )
    result = make_plan(told(crossed(), ELM_FIRST), stop=Tries(40), solver=solver)
    assert result.plan.placements == ELM_FIRST.placements
    assert result.score == Score(late=0, upset=0, finish=june(10, LAST) + june(11, LAST))


@pytest.mark.parametrize("made_by", [build_plan, lambda made: make_plan(made, stop=Tries(5))])
def test_what_is_proven_is_proven_of_plans_that_keep_the_next_day(made_by):
    """Monday is day 0 of the axis and fixed as published; where nothing is published, no day is."""
    assert made_by(told(crossed(), ELM_FIRST)).keeps == 0
    assert made_by(crossed()).keeps is None


def test_in_the_evening_the_next_working_day_is_tomorrow():
    """A crew that may aim lights on Monday evening does not make Monday the day that is fixed."""
    lights = {"north": crew("north", week() | week(positions=(EVENING,)))}
    made = world(work("dig", 4), crews=lights, now=june(8, EVENING))
    placed = plan(dig=at(june(10), june(10, LAST)))
    assert next_day(made) == 1
    assert judge_plan(told(made, plan(dig=at(june(9), june(9, LAST)))), placed).score.upset == (
        NEXT_DAY + THIS_WEEK
    )


def test_the_quick_builder_gives_it_back_too():
    """Without any search."""
    result = build_plan(told(crossed(), ELM_FIRST))
    assert (result.plan.placements, result.rule) == (ELM_FIRST.placements, "as published")


def test_a_promise_is_worth_a_changed_day_but_tomorrow_stays():
    """Oak is promised for Wednesday: stone goes there first, while north digs elm on Monday as published.

    Stone is not in elm on Tuesday, in oak on Wednesday, and in elm on Thursday and Friday: four days of this
    week differ.
    """
    jobs = {"oak": job("oak", crews=3, promise=june(10, LAST)), "elm": job("elm", crews=3)}
    result = make_plan(told(crossed(jobs=jobs), ELM_FIRST), stop=Tries(60), solver=solve_part)
    assert result.plan["elm dig"] == ELM_FIRST["elm dig"]
    assert result.plan["oak dig"] == ELM_FIRST["oak dig"]
    assert result.plan["oak stone"] == at(june(10), june(10, LAST), "stone")
    assert (result.score.late, result.score.upset) == (0, 4 * THIS_WEEK)


def test_what_cannot_stand_tomorrow_is_free():
    """North is off on Monday: the dig of elm moves to Tuesday, whatever was published."""
    crews = {**crossed().crews, "north": replace(crossed().crews["north"])}
    crews["north"] = replace(crews["north"], open=crews["north"].open & ~(0b111111 << june(8, 0)))
    result = make_plan(told(crossed(crews=crews), ELM_FIRST), stop=Tries(20), solver=solve_part)
    assert result.plan["elm dig"].start >= june(9)


def test_one_more_yard_moves_few_crew_days():
    """Five invented yards are published and a sixth is begun: of their crew-days, few change for it."""
    six = invented_portfolio(6, 2)
    new = next(iter(six.jobs))
    works = {name: it for name, it in six.works.items() if it.job != new}
    five = replace(
        six, works=works, ties=tuple(it for it in six.ties if {it.before, it.after} <= works.keys())
    )
    published = build_plan(five).plan

    def moved(made):
        """Crew-days of the five yards that differ."""
        placed = {name: made[name] for name in works}
        days = frozenset(day_weights(six))
        return len(changed(tours(five, published.placements), tours(five, placed), days))

    kept = make_plan(told(six, published), stop=Tries(150))
    assert (moved(build_plan(six).plan), moved(kept.plan)) == (33, 0)


def test_weights_fall_by_working_days():
    """The next day, four more, then two weeks; Saturdays and Sundays do not count, nor what comes after."""
    weights = day_weights(crossed())
    assert [weights.get(day) for day in range(8)] == [
        NEXT_DAY,
        *[THIS_WEEK] * 4,
        None,
        None,
        NEXT_WEEK,
    ]
    assert (weights[18], weights.get(21)) == (LATER, None)
    assert len(weights) == 15


def test_the_judge_weighs_by_its_own_count():
    """Stone in oak on Tuesday instead of Thursday: a day of this week gone and one come."""
    made = told(crossed(), ELM_FIRST)
    other = Plan({**ELM_FIRST.placements, "oak stone": at(june(10), june(10, LAST), "stone")})
    assert judge_plan(made, other).score.upset == 2 * THIS_WEEK
    assert judge_plan(made, ELM_FIRST).score.upset == 0


def test_a_pin_by_hand_is_not_overruled():
    """Elm's dig was fixed for Tuesday after it was published for Monday."""
    made = told(crossed(), ELM_FIRST)
    pin = replace(made.works["elm dig"].pin, not_before=june(9))
    made = replace(made, works={**made.works, "elm dig": replace(made.works["elm dig"], pin=pin)})
    assert settled(made)[0].works["elm dig"].pin == pin
    assert build_plan(made).plan["elm dig"].start >= june(9, FIRST)


@patient
@given(worlds())
def test_score_and_judge_agree_on_upset(drawn):
    """Whatever was published and whatever has changed since, with search and solver."""
    made = changed_world(drawn)
    result = make_plan(made, stop=Tries(30), solver=solve_part)
    verdict = judge_plan(made, result.plan)
    assert (verdict.sound, verdict.score) == (True, result.score)


def test_what_is_proven_holds_though_people_would_be_upset():
    """Elm, promised for Wed 10, is published after oak, on Thu 11 - Fri 12.

    It can be done in time, for crew-days changed in this week that the walk finds too dear: it goes back to what is
    published, and the best plan is kept aside. What is proven must be of the best, not of where the walk stands.
    """
    made = told(
        world(
            work("oak dig", 8),
            work("elm dig", 8, job="elm"),
            jobs={"oak": job("oak"), "elm": job("elm", promise=june(10, LAST))},
        ),
        plan(oak_dig=at(june(9), june(10, LAST)), elm_dig=at(june(11), june(12, LAST))),
    )
    ready = Ready(made)
    early = early_dates(ready)
    board = Board(ready, early)
    for name, place in made.published.items():
        assert board.put_where(ready.number[name], place)
    search = Search(board, 0)
    parts = Parts(search, solve_part, 0, (early.start, early.end))
    parts.run(Tries(20))
    assert search.score.late == 0
    assert search.late == [0, 2]
    assert parts.bound <= search.score


@settings(parent=patient, max_examples=30)
@given(worlds())
def test_what_still_stands_is_at_hand(drawn):
    """The answer is never worse than the published plan where that still stands."""
    made = changed_world(drawn)
    old = Plan({name: made.published[name] for name in made.works})
    verdict = judge_plan(made, old)
    assume(verdict.sound)
    assert make_plan(made, stop=Tries(5)).score <= verdict.score
