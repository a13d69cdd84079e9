"""Better plans: search and solver, in tiny yards counted by hand and in every small world drawn."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, assume, given, settings

from jobs.scheduling.budget import Part, Tries
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.levelling import solve_part
from jobs.scheduling.result import Placement, Plan, Score, Status
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.search.make_plan import make_plan
from jobs.services.bench.invented import invented_portfolio
from jobs.services.telling.words import say
from tests.oracle import plan_below
from tests.worlds import FIRST, LAST, SECOND, Size, job, june, patio, tie, work, world, worlds

TINY = Size(works=3, slots=3, days=10, begun=False)
patient = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def improved(given_world, tries, **options):
    """What make_plan answers; worlds without a first plan are left aside."""
    try:
        return make_plan(given_world, stop=Tries(tries), **options)
    except NoPlan:
        assume(False)
        raise


@patient
@given(worlds())
def test_the_judge_accepts_what_the_search_finds(drawn):
    """Nothing is wrong with it, its score is true, and it is no worse than the quick builder's."""
    result = improved(drawn, 40)
    verdict = judge_plan(drawn, result.plan)
    assert [say(breach.sentence) for breach in verdict.breaches] == []
    assert result.bound <= verdict.score == result.score
    assert result.score <= build_plan(drawn).score


@patient
@given(worlds())
def test_the_judge_accepts_what_the_solver_finds(drawn):
    """The same with CP-SAT, whatever waits, rests, shifts, drives and yards were drawn."""
    result = improved(drawn, 6, solver=solve_part)
    verdict = judge_plan(drawn, result.plan)
    assert [say(breach.sentence) for breach in verdict.breaches] == []
    assert result.bound <= verdict.score == result.score


@settings(parent=patient, max_examples=15)
@given(worlds(TINY))
def test_proven_best_is_best(drawn):
    """No plan that scores less is found by trying every place of every work."""
    result = improved(drawn, 4, solver=solve_part)
    assume(result.status is Status.PROVEN)
    assert plan_below(drawn, result.score) is None


@patient
@given(worlds())
def test_no_plan_is_made_worse(drawn):
    """Given a plan and no time at all, the answer is as good."""
    first = improved(drawn, 30, seed=1)
    again = make_plan(drawn, stop=Tries(0), seed=2, start=first.plan)
    assert again.score <= first.score


@patient
@given(worlds())
def test_the_same_seed_gives_the_same_plan(drawn):
    """Work is counted, not seconds: the answer repeats to the last machine."""
    assert improved(drawn, 20, seed=5) == improved(drawn, 20, seed=5)


def crossed():
    """Two yards that need the north crew first: elm's promise is Monday evening, oak's Friday.

    The builder takes elm first because it is tight; oak then waits for the south crew, which takes
    three days for what north does in one.
    """
    return world(
        work("oak dig", 4, "north", job="oak"),
        work("oak stone", 4, "stone", job="oak"),
        work("elm dig", 4, "north", job="elm"),
        work("elm stone", 8, "stone", job="elm"),
        ties=(tie("oak dig", "oak stone"), tie("elm dig", "elm stone")),
        jobs={"oak": job("oak"), "elm": job("elm")},
    )


def test_two_yards_behind_one_crew_are_proven_best():
    """North digs oak on Mon 8 and elm on Tue 9; stone sets oak on Tue 9 and elm on Wed 10 - Thu 11.

    The other way round oak would be done on Thursday and elm on Wednesday evening: two slots of a
    calendar day more in all.
    """
    result = make_plan(crossed(), stop=Tries(20), solver=solve_part)
    assert result.status is Status.PROVEN
    assert result.score == Score(late=0, finish=june(9, LAST) + june(11, LAST))
    assert result.plan["oak dig"] == Placement(june(8, FIRST), june(8, LAST), "north")
    assert result.plan["elm stone"] == Placement(june(10, FIRST), june(11, LAST), "stone")


def test_a_patio_on_a_slab_is_proven_best():
    """The plan counted by hand is the soonest: Tue 23, one day after the promise, weight 3."""
    made, placed = patio()
    result = make_plan(made, stop=Tries(10), solver=solve_part)
    assert result.status is Status.PROVEN
    assert result.score == judge_plan(made, placed).score


def test_a_slower_crew_is_taken_where_that_helps():
    """North alone would end elm on Tuesday evening; south, half as fast again, by 11:00."""
    elm = replace(work("elm dig", 4, job="elm"), crews={"north": 4, "south": 6})
    made = world(work("oak dig", 4, "north", job="oak"), elm)
    result = make_plan(made, stop=Tries(40), solver=solve_part)
    assert result.status is Status.PROVEN
    assert result.plan["elm dig"] == Placement(june(8), june(9, SECOND), "south")
    assert result.score == Score(late=0, finish=june(8, LAST) + june(9, SECOND))


def test_a_start_that_does_not_fit_is_left_aside():
    """A plan of another world is no start; the builder's is."""
    made, _ = patio()
    odd = Plan({name: Placement(june(8), june(8), "north") for name in made.works})
    assert make_plan(made, stop=Tries(5), start=odd).score == build_plan(made).score


def test_six_yards_get_better_and_progress_is_told():
    """Every score told is better than the one before, and the last one is the answer's, tidiness aside."""
    made, told = invented_portfolio(6, 1), []
    result = make_plan(made, stop=Tries(150), progress=told.append)
    scores = [it.best for it in told]
    assert scores == sorted(scores, reverse=True)
    assert scores[-1].main == result.score.main
    assert result.score < build_plan(made, rules=("late start",)).score
    assert judge_plan(made, result.plan).sound


def test_parts_of_six_yards_are_solved_and_nothing_gets_worse():
    """With counted work the solver repeats itself, and the judge agrees."""
    made = invented_portfolio(4, 2)
    first = make_plan(made, stop=Tries(20), solver=solve_part)
    assert judge_plan(made, first.plan).sound
    assert first.score <= make_plan(made, stop=Tries(7)).score


class _Clock:
    """A budget of ten seconds, of which every question takes a hundredth; it ends when all are gone."""

    def __init__(self):
        self.now = 0.0

    def __call__(self):
        self.now += 0.01
        return self.now >= 10

    def spent(self):
        return min(1.0, self.now / 10)

    def part(self, share):
        return Part(self, share)

    def seconds(self):
        return max(0.0, 10 - self.now)


def test_time_is_left_for_what_comes_after_the_search():
    """The search ends at 9.35 s of 10; the last pass asks the clock, too, and the answer is there before 10 s."""
    clock = _Clock()
    result = make_plan(invented_portfolio(4, 2), stop=clock)
    assert result.tried > 0
    assert 9.35 <= clock.now < 10
