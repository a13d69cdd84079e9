"""Critical path of yards by the calendar: waits, what is refused, and dates true for a plan."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import HealthCheck, assume, given, settings

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.paths.network import critical_path
from jobs.scheduling.result import Plan
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.world import Done, Pin
from tests.worlds import (
    CHICAGO,
    DAY,
    FIRST,
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
    worlds,
)


def dates_of(network, name):
    """Early and late first and last slot."""
    row = network.rows[name]
    return row.early_start, row.early_finish, row.late_start, row.late_finish


class TestYard:
    """A patio on a slab, by the calendar (see ``tests.worlds.patio``)."""

    def test_early_dates_are_those_of_the_only_soonest_plan(self):
        """Nobody is in anybody's way there."""
        it, placed = patio()
        rows = critical_path(it).rows
        early = {name: (row.early_start, row.early_finish) for name, row in rows.items()}
        assert early == {name: (at.start, at.end) for name, at in placed.placements.items()}

    def test_late_dates_keep_the_finish(self):
        """The stone crew is off on Thu 18, so the pour may end two hours later: Thu 11 15:30."""
        network = critical_path(*patio())
        assert dates_of(network, "pour slab")[2:] == (june(11, SECOND), june(11, LAST))
        assert dates_of(network, "base")[2:] == (june(10, SECOND), june(11, FIRST))
        assert network.rows["pour slab"].total_float == 1
        assert network.rows["set stone"].total_float == 0
        assert network.rows["set stone"].critical

    def test_what_is_free_disturbs_nobody(self):
        """The base cannot slip without moving the pour; forms may be stripped until all is done."""
        it, placed = patio()
        rows = critical_path(it, placed).rows
        assert (rows["base"].free_finish, rows["base"].total_float) == (placed["base"].end, 1)
        assert rows["strip forms"].free_finish == june(23, SECOND)
        assert dates_of(critical_path(*patio()), "strip forms")[3] == june(23, SECOND)

    def test_the_chain_runs_to_the_finish(self):
        """Digging, base, pour, stone; sawing the joints hangs on the pour."""
        network = critical_path(*patio())
        assert network.chains == {"oak": ("dig out", "base", "pour slab", "set stone")}
        assert network.near == {"oak": (("saw joints",),)}

    def test_float_to_the_promise_is_in_working_hours(self):
        """Promised Mon 22 15:30, done Tue 23 11:00: two slots, four hours late."""
        assert critical_path(*patio()).promise_float("oak") == -4

    @pytest.mark.parametrize(("promise", "hours"), [(june(10, LAST), 8), (june(15, LAST), 32)])
    def test_float_to_the_promise_leaves_weekends_out(self, promise, hours):
        """Done Tue 9 at night; Wed is one day of eight hours, Wed to Mon are four."""
        it = world(work("dig", 8), jobs={"oak": job(promise=promise)})
        assert critical_path(it, build_plan(it).plan).promise_float("oak") == hours

    def test_no_promise_no_float_to_it(self):
        """Nothing promised."""
        assert critical_path(world(work("dig"))).promise_float("oak") is None


class TestWaits:
    """Waits on the clock on the wall."""

    def test_seven_days_over_a_weekend(self):
        """Done Thu 11 15:30, good again Thu 18 15:30; no crew is held meanwhile (design rule)."""
        it = world(
            work("pour", 4, pin=Pin(not_before=june(11))),
            work("lay", 1),
            work("hedge", 20, job="elm"),
            ties=(tie("pour", "lay", 7 * DAY),),
        )
        rows = critical_path(it).rows
        assert rows["pour"].early_finish == june(11, LAST)
        assert rows["lay"].early_start == june(19)
        assert build_plan(it).plan["hedge"].start == june(8)

    def test_a_short_day_of_the_clock(self):
        """Sunday 8 March 2026 has 23 hours: 24 after Sat 11:00 is Sun 12:00, so 13:30 it is."""
        axis = axis_of(first=date(2026, 3, 2))
        saturday, sunday = axis.slot(date(2026, 3, 7), SECOND), axis.slot(date(2026, 3, 8), LAST)
        every_day = week(axis, weekdays=tuple(range(7)))
        it = world(
            work("pour", 1, pin=Pin(not_before=saturday)),
            work("lay"),
            ties=(tie("pour", "lay", DAY),),
            axes={CHICAGO: axis},
            crews={"north": crew("north", every_day)},
            jobs={"oak": job(open=(1 << axis.size) - 1)},
        )
        assert critical_path(it).rows["lay"].early_start == sunday

    def test_what_must_be_followed_soon_waits_for_its_follower(self):
        """Sod is laid within a day of delivery; its other forerunner ends on Thu 11."""
        it = world(
            work("deliver", 1, ""),
            work("grade", 16),
            work("lay"),
            ties=(tie("deliver", "lay", at_most=DAY), tie("grade", "lay")),
        )
        rows = critical_path(it).rows
        assert rows["lay"].early_start == june(12)
        assert rows["deliver"].early_finish == june(11, FIRST)


class TestRefused:
    """Links that cannot be kept name their members."""

    def test_works_that_wait_for_each_other(self):
        """Digging, base, digging."""
        it = world(
            work("dig"),
            work("base"),
            work("lay"),
            ties=(tie("dig", "base"), tie("base", "dig"), tie("base", "lay")),
        )
        with pytest.raises(NoPlan) as refusal:
            critical_path(it)
        assert set(refusal.value.culprits) == {"dig", "base"}

    def test_a_wait_longer_than_its_limit(self):
        """Seven days at least by way of the cure, five at most directly."""
        it = world(
            work("pour"),
            work("look", 1, ""),
            work("strip"),
            ties=(
                tie("pour", "look", 7 * DAY),
                tie("look", "strip"),
                tie("pour", "strip", at_most=5 * DAY),
            ),
        )
        with pytest.raises(NoPlan) as refusal:
            critical_path(it)
        assert set(refusal.value.culprits) == {"pour", "look", "strip"}

    def test_too_late_after_what_is_done(self):
        """Poured Mon 8 13:30, sawn within a day: it is Wednesday already."""
        it = world(
            work("pour", done=Done(june(8), june(8, THIRD), "north")),
            work("saw"),
            ties=(tie("pour", "saw", at_most=DAY),),
            now=june(10),
        )
        with pytest.raises(NoPlan) as refusal:
            critical_path(it)
        assert refusal.value.culprits == ("pour", "saw")


class TestTrueForThePlan:
    """With a plan, who comes next on a crew or a machine counts like a link."""

    def test_a_crew_that_goes_on_to_another_yard(self):
        """North digs at oak on Mon 8, at elm Tue 9; by the links alone it could dig five days later."""
        it = world(
            work("dig oak", 4),
            work("call oak", 32, ""),
            work("dig elm", 4, job="elm"),
        )
        placed = plan(
            dig_oak=at(june(8), june(8, LAST)),
            call_oak=at(june(8), june(15, LAST), ""),
            dig_elm=at(june(9), june(9, LAST)),
        )
        assert critical_path(it).rows["dig oak"].total_float == 20
        network = critical_path(it, placed)
        assert network.rows["dig oak"].total_float == 0
        assert network.chains["elm"] == ("dig oak", "dig elm")

    @settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(worlds())
    def test_all_works_at_their_late_dates_make_a_sound_plan(self, it):
        """Nothing breaks, drives from shift to shift aside, and no yard is done later."""
        result = planned(it)
        rows = critical_path(it, result.plan).rows
        late = {
            name: at
            if it.works[name].done
            else at._replace(start=rows[name].late_start, end=rows[name].late_finish)
            for name, at in result.plan.placements.items()
        }
        verdict = judge_plan(it, Plan(late))
        assert {breach.kind for breach in verdict.breaches} <= {"drive"}
        assert verdict.score.main == result.score.main

    @settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(worlds())
    def test_floats_are_in_order(self, it):
        """Planned, free, late: none is sooner than the one before, and no float is below nothing."""
        result = planned(it)
        for name, row in critical_path(it, result.plan).rows.items():
            assert row.total_float >= 0
            assert row.late_start >= result.plan[name].start
            assert row.late_finish >= row.free_finish >= result.plan[name].end

    @settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(worlds())
    def test_a_chain_ends_with_the_last_work_that_counts(self, it):
        """No work twice, and nothing that counts is done after its end."""
        result = planned(it)
        for name, chain in critical_path(it, result.plan).chains.items():
            ends = [result.plan[w.id].end for w in it.works.values() if w.job == name and w.counts]
            assert len(set(chain)) == len(chain)
            assert [result.plan[work].end for work in chain[-1:]] == sorted(ends)[-1:]


def planned(it):
    """The plan of a world; worlds that cannot be planned are left aside."""
    try:
        return build_plan(it)
    except NoPlan:
        assume(False)
        raise
