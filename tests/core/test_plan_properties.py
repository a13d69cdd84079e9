"""What holds for every plan of every small world, whatever was drawn.

The judge shares no code with the builder; the few facts that matter most are also counted here
without the judge, in plain slots and datetimes. The slow search of ``tests.oracle`` tries every start.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.paths.network import critical_path
from jobs.scheduling.search.dispatch import build_plan
from jobs.services.telling.words import say
from jobs.trade.work import Clock
from tests.oracle import plan_below
from tests.worlds import Size, tie, worlds

EASY = Size(hard=False)
TINY = Size(works=3, slots=3, days=9, begun=False)
patient = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def built(world):
    """The plan of a world; worlds that cannot be planned are left aside."""
    try:
        return build_plan(world)
    except NoPlan as refusal:
        event(f"no plan: {refusal.reason[:40]}")
        assume(False)
        raise


def moments(world, result):
    """Aware local begin and end of every work."""
    axes = {w.id: world.axes[world.jobs[w.job].zone] for w in world.works.values()}
    return {
        name: (axes[name].begins(max(0, at.start)), axes[name].ends(max(0, at.end)))
        for name, at in result.plan.placements.items()
    }


@patient
@given(worlds())
def test_judge_accepts_every_built_plan(world):
    """Nothing is wrong with it, and its score is the one the builder says."""
    result = built(world)
    verdict = judge_plan(world, result.plan)
    assert [say(b.sentence) for b in verdict.breaches] == []
    assert verdict.score == result.score
    assert result.bound <= result.score


@patient
@given(worlds(EASY))
def test_a_world_without_last_dates_always_has_a_plan(world):
    """With no at-most and nothing to end by a date, there is always a later day."""
    assert set(build_plan(world).plan.placements) == set(world.works)


@patient
@given(worlds())
def test_elapsed_waits_hold_on_the_clock_of_the_wall(world):
    """Counted in datetimes with their zones, weekends and changing clocks included."""
    times = moments(world, built(world))
    for link in world.ties:
        if link.lag.clock is not Clock.ELAPSED or world.works[link.after].done:
            continue
        before = times[link.before][link.relation.from_finish]
        after = times[link.after][link.relation.to_finish]
        passed = after.timestamp() - before.timestamp()
        assert passed >= link.lag.amount * 60
        if link.lag.at_most is not None:
            assert passed <= link.lag.at_most * 60


@patient
@given(worlds())
def test_nothing_is_used_twice(world):
    """Slot by slot: a crew on one day work, a machine unit in one place, a zone within its room."""
    plan = built(world).plan.placements
    planned = [(world.works[name], at) for name, at in plan.items() if not world.works[name].done]
    for keys in (
        [((at.crew, w.shift), at) for w, at in planned if at.crew],
        [(unit, at) for _, at in planned for unit in at.machines],
        [((w.place, w.shift), at) for w, at in planned if w.crews and w.place in {"patio", "yard"}],
    ):
        used = Counter((key, slot) for key, at in keys for slot in range(at.start, at.end + 1))
        assert {key: times for key, times in used.items() if times > 1} == {}


@patient
@given(worlds())
def test_planning_twice_gives_the_same_plan(world):
    """Same world, same seed, same answer to the last machine."""
    first, second = built(world), build_plan(world)
    assert first == second


@patient
@given(worlds())
def test_nothing_is_planned_before_its_early_dates(world):
    """Crews and machines may only make things later than the network alone."""
    plan = built(world).plan
    rows = critical_path(world).rows
    for name in world.works:
        assert rows[name].early_start <= plan[name].start
        assert rows[name].early_finish <= plan[name].end


@patient
@given(worlds(EASY), st.data())
def test_adding_a_link_never_shortens_the_critical_path(world, data):
    """One more thing to wait for cannot bring the finish of any work forward."""
    assume(len(world.works) > 1)
    names = list(world.works)
    after = data.draw(st.integers(1, len(names) - 1))
    before = data.draw(st.integers(0, after - 1))
    amount = data.draw(st.sampled_from([0, 600, 4000]))
    more = replace(world, ties=(*world.ties, tie(names[before], names[after], amount)))
    rows, longer = critical_path(world).rows, critical_path(more).rows
    for name in names:
        assert rows[name].early_start <= longer[name].early_start
        assert rows[name].early_finish <= longer[name].early_finish


@settings(patient, max_examples=12)
@given(worlds(TINY))
def test_no_plan_at_all_beats_the_bound(world):
    """Every start of every work was tried: nothing sound scores below what is claimed."""
    assert plan_below(world, built(world).bound) is None


@settings(patient, max_examples=30)
@given(worlds(Size(works=3, slots=3, days=8, begun=False)))
def test_what_is_refused_cannot_be_planned(world):
    """Where the builder finds no plan, trying every start of every work finds none either."""
    try:
        build_plan(world)
    except NoPlan:
        assert plan_below(world, None) is None
