"""Crew-days that any plan must change: counted on the fingers, tried through and through, and held against many plans."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

from jobs.scheduling.budget import Tries
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.placing.repair import Mender, in_old_order, keep_places, push_right
from jobs.scheduling.ready import Ready
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.storm.lost import Loss, lose
from jobs.scheduling.storm.replan import ways_out
from jobs.scheduling.storm.standing import Standing
from jobs.scheduling.storm.steady import Near
from jobs.scheduling.storm.unavoidable import must_change
from jobs.scheduling.storm.ways_out import AT_ONCE, Storm, Way, WayOut
from jobs.scheduling.upset import changed, counted_days, six_lines, tours
from jobs.scheduling.world import Done
from jobs.services.bench.replan import invented_storm
from jobs.services.telling.speech import say_least
from tests.oracle import plan_that
from tests.worlds import (
    DAY,
    LAST,
    SECOND,
    THIRD,
    Size,
    at,
    crew,
    june,
    plan,
    tie,
    work,
    world,
    worlds,
)

TUESDAY = (1 << june(10, 0)) - (1 << june(9, 0))
"""All slots of Tuesday 9 June."""
THREE = {name: crew(name) for name in ("north", "south", "stone")}
TINY = Size(works=3, slots=3, days=4, begun=False)
patient = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def groups(yard, published, lost: int = TUESDAY, last_lost: int = 1) -> list[set[tuple[str, date]]]:
    """The groups found after some slots were lost to all works, with their dates."""
    wet = lose(yard, [Loss(lost, frozenset(yard.works))])
    axis = yard.axis
    found = must_change(Ready(wet), yard, published.placements, last_lost)
    return [{(who, axis.day(day * axis.per_day)) for who, day in group} for group in found]


def poured():
    """North pours on Tuesday 9 and clears up on Wednesday; stone sets a week after the pour, on Tuesday 16."""
    works = (work("pour", 3, one_go=True), work("clear", 1), work("set", 4, "stone"))
    yard = world(*works, ties=(tie("pour", "set", 7 * DAY),), crews=THREE, now=june(9))
    published = plan(
        pour=at(june(9), june(9, THIRD)),
        clear=at(june(10), june(10)),
        set=at(june(16), june(16, LAST), "stone"),
    )
    return yard, published


class TestByHand:
    """Tiny yards, rained out on Tuesday 9 June 2026."""

    def test_a_visit_whose_cure_is_not_over_has_to_change(self):
        """Poured on Wednesday instead of Tuesday, the slab bears on the next Wednesday: not on Tuesday 16, as told."""
        yard, published = poured()
        assert groups(yard, published) == [{("stone", date(2026, 6, 16))}]

    def test_either_one_crew_comes_sooner_or_the_other_cannot_come_as_told(self):
        """North has elm on Wednesday: it digs at oak then, or south has nothing to fill on Thursday."""
        works = (work("dig", 4), work("elm", 4, job="elm"), work("fill", 4, "south"))
        yard = world(*works, ties=(tie("dig", "fill"),), crews=THREE, now=june(9))
        published = plan(
            dig=at(june(9), june(9, LAST)),
            elm=at(june(10), june(10, LAST)),
            fill=at(june(11), june(11, LAST), "south"),
        )
        wednesday, thursday = ("north", date(2026, 6, 10)), ("south", date(2026, 6, 11))
        assert groups(yard, published) == [{wednesday, thursday}]

    def test_nothing_has_to_change_where_work_can_wait(self):
        """North was told oak on Wednesday, too: it digs then, and fills whenever."""
        yard = world(work("dig", 4), work("fill", 4), ties=(tie("dig", "fill"),), now=june(9))
        published = plan(dig=at(june(9), june(9, LAST)), fill=at(june(10), june(10, LAST)))
        assert groups(yard, published) == []

    def test_work_under_way_that_goes_on_where_nobody_was_told(self):
        """South digs on at oak until Wednesday noon, as it lost Tuesday; that day it was told elm."""
        dig = work("dig", 2, "south", done=Done(june(8), None, "south"))
        yard = world(dig, work("elm", 4, "south", job="elm"), crews=THREE, now=june(9))
        published = plan(
            dig=at(june(8), june(9, SECOND), "south"), elm=at(june(10), june(10, LAST), "south")
        )
        assert groups(yard, published) == [{("south", date(2026, 6, 10))}]

    def test_steady_tells_it_and_no_plan_of_its_own_changes_fewer(self):
        """One crew-day had to change, and one changes."""
        yard, published = poured()
        wet = lose(yard, [Loss(TUESDAY, frozenset(yard.works))])
        storm = Storm(wet, yard, published.placements, 1)
        steady, promise = ways_out(storm, stop=lambda: Tries(50), ways=(Way.STEADY, Way.ON_PROMISE))
        assert (steady.least_changed, promise.least_changed) == (1, None)


def test_it_is_told_in_plain_words():
    """Nothing where nothing had to change, or where nobody counted."""
    assert say_least(9, 6) == "at least 6 could not be helped"
    assert say_least(6, 6) == "no plan changes fewer"
    assert say_least(9, 0) == say_least(9, None) == ""


@st.composite
def storms(draw: st.DrawFn, size: Size) -> tuple[Storm, tuple[frozenset[tuple[str, int]], ...]]:
    """Draw a small world whose plan is rained out from a published day on, and what must change in it."""
    before = draw(worlds(size))
    try:
        published = build_plan(before).plan.placements
    except NoPlan:
        assume(False)
    axis = before.axis
    starts = sorted(
        {it.start // axis.per_day for it in published.values() if it.start >= before.now}
    )
    assume(starts)
    first = draw(st.sampled_from(starts[:2]))
    last = min(axis.days - 1, first + draw(st.integers(0, 2)))
    slots = (1 << (last + 1) * axis.per_day) - (1 << max(before.now, first * axis.per_day))
    if draw(st.booleans()):
        loss = Loss(slots, frozenset(before.works))
    else:
        loss = Loss(slots, crews=frozenset([draw(st.sampled_from(sorted(before.crews)))]))
    wet = lose(before, [loss])
    storm = Storm(wet, before, published, last)
    try:
        return storm, must_change(Ready(wet), before, published, last)
    except NoPlan:
        assume(False)
        raise


def changes_of(storm: Storm, placed) -> set[tuple[str, int]]:
    """The crew-days that a plan changes, by the count the pages tell."""
    days = counted_days(storm.before, storm.last_lost)
    return set(changed(tours(storm.before, storm.published), tours(storm.world, placed), days))


@patient
@given(storms(TINY))
def test_trying_everything_finds_no_plan_that_leaves_a_group_as_it_was(drawn):
    """Every start, crew and machine unit of tiny worlds: the judge accepts none that changes nothing in a group."""
    storm, found = drawn
    told, names = tours(storm.before, storm.published), set(storm.world.works)
    event(f"{len(found)} groups")
    for group in found:

        def unchanged(placed, group=group):
            now = tours(storm.world, placed)
            if any(now.get(key, set()) - told.get(key, set()) for key in group):
                return False
            return set(placed) < names or not group & changes_of(storm, placed)

        assert plan_that(storm.world, unchanged) is None


@patient
@given(storms(Size()))
def test_no_plan_of_any_builder_or_walk_leaves_a_group_as_it_was(drawn):
    """Pushed right, in the old order, mended, built by other turns, and a walk of a few tries from there."""
    storm, found = drawn
    plans = [plan for plan in _plans(storm) if judge_plan(storm.world, plan).sound]
    event(f"{len(found)} groups, {len(plans)} plans")
    for made in plans:
        differ = changes_of(storm, made.placements)
        assert [group for group in found if not group & differ] == []


def _plans(storm: Storm):
    """Whatever plans the house can make."""
    for make in (push_right, in_old_order, keep_places):
        try:
            yield make(storm.world, storm.published)
        except NoPlan:
            event("no plan")
    for seed in range(3):
        try:
            yield build_plan(storm.world, seed=seed).plan
        except NoPlan:
            event("no plan")
    for found in ways_out(storm, stop=lambda: Tries(20), ways=(Way.STEADY, Way.ON_PROMISE)):
        if isinstance(found, WayOut):
            yield found.result.plan


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_groups_lie_apart_and_every_plan_on_a_long_walk_changes_one_day_in_each(seed):
    """Six yards of an invented company, two hundred steps that may get much worse: the judge accepts all that is met."""
    storm = invented_storm(6, seed)
    mender = Mender(storm.world, storm.published)
    found = must_change(mender.ready, storm.before, storm.published, storm.last_lost)
    assert sum(map(len, found)) == len(frozenset().union(*found))
    assert mender.keep_places()
    near = Near(
        Standing(mender, storm.before, storm.published, storm.last_lost), {}, 0.0, seed=seed
    )
    met = defaultdict(list)
    for step in range(200):
        near.step(200.0)
        if step % 20 == 0:
            made = mender.plan()
            differ = changes_of(storm, made.placements)
            met[judge_plan(storm.world, made).sound].append(len(differ))
            assert [group for group in found if not group & differ] == []
    assert set(met) == {True}
    assert min(met[True]) >= len(found) > 0


def test_the_first_answers_change_no_fewer_either():
    """Counted as the six lines count."""
    storm = invented_storm(5, 1)
    least = len(must_change(Ready(storm.world), storm.before, storm.published, storm.last_lost))
    for found in ways_out(storm, stop=lambda: Tries(0), ways=AT_ONCE):
        lines = six_lines(
            storm.world,
            storm.before,
            storm.published,
            found.result.plan,
            last_lost=storm.last_lost,
        )
        assert len(lines.crew_days) >= least > 0
