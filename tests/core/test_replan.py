"""Ways out on tiny yards: dates on the fingers, every answer judged, the six lines counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from multiprocessing import Pipe

import pytest

from jobs.scheduling.budget import Tries
from jobs.scheduling.errors import BadWorld
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.placing.repair import keep_places, push_right
from jobs.scheduling.storm.lost import Loss, lose
from jobs.scheduling.storm.replan import first_answer, restore, ways_out
from jobs.scheduling.storm.ways_out import BETTER, NoWay, Storm, Way, WayOut
from jobs.scheduling.upset import Extended, counted_days, six_lines
from jobs.scheduling.world import Done, Machine
from jobs.services.bench.replan import invented_storm
from jobs.services.storm.side_by_side import _heard, look_side_by_side
from tests.worlds import (
    ALWAYS,
    FIRST,
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

NORTH_ALONE = {"north": crew("north")}
TUESDAY = (1 << june(10, 0)) - (1 << june(9, 0))
"""All slots of Tuesday 9 June."""


def two_days(**changes: object):
    """Two works of a day each by the north crew: dig on Monday 8, fill on Tuesday 9 June."""
    works = (work("dig", 4), work("fill", 4))
    given = {"crews": NORTH_ALONE, "jobs": {"oak": job()}}
    yard = world(*works, ties=(tie("dig", "fill"),), **(given | changes))
    published = plan(dig=at(june(8), june(8, LAST)), fill=at(june(9), june(9, LAST)))
    return yard, published


def rained_out(yard, published, slots: int, *names: str) -> Storm:
    """The works named cannot be done in some slots; the last day lost is Tuesday."""
    stopped = frozenset(names or yard.works)
    wet = lose(yard, [Loss(slots, stopped)])
    return Storm(wet, yard, published.placements, 1)


def a_hundred():
    """Give every search a hundred tries: the same answer on every machine."""
    return Tries(100)


class TestLoss:
    """Lost slots are closed to whom they stop, and to nobody else."""

    def test_a_lost_day_moves_the_work_that_stood_on_it_by_one_day(self):
        """Fill goes from Tuesday to Wednesday; digging stays."""
        yard, published = two_days()
        storm = rained_out(yard, published, TUESDAY)
        mended = keep_places(storm.world, published.placements)
        assert mended["dig"] == published["dig"]
        assert mended["fill"] == at(june(10), june(10, LAST))

    def test_half_a_day_lost_to_running_work_is_made_up_the_next_day(self):
        """Digging has begun on Monday; its last two slots go on Tuesday when Monday noon is lost."""
        yard, _ = two_days(now=june(8, THIRD))
        begun = replace(
            yard.works["dig"], done=Done(june(8), None, "north"), crews={"north": 2}, slots=2
        )
        yard = replace(yard, works=yard.works | {"dig": begun})
        noon = 1 << june(8, THIRD) | 1 << june(8, LAST)
        wet = lose(yard, [Loss(noon, frozenset({"dig", "fill"}))])
        published = {
            "dig": at(june(8), june(8, LAST)),
            "fill": at(june(9), june(9, LAST)),
        }
        mended = keep_places(wet, published)
        assert mended["dig"] == at(june(8), june(9, SECOND))
        assert mended["fill"] == at(june(9, THIRD), june(10, SECOND))

    def test_a_crew_that_is_out_stops_whatever_it_does(self):
        """Nobody of the north crew comes on Tuesday."""
        yard, published = two_days()
        without = lose(yard, [Loss(TUESDAY, crews=frozenset({"north"}))])
        assert without.crews["north"].open == week() & ~TUESDAY
        assert keep_places(without, published.placements)["fill"].start == june(10)

    def test_nothing_lost_leaves_the_world_as_it_is(self):
        """The very same object, so that it can be told."""
        yard, _ = two_days()
        assert lose(yard, []) is yard

    def test_a_loss_before_time_began_is_refused(self):
        """A bitmap below zero has no end."""
        with pytest.raises(BadWorld, match="loss of slots"):
            Loss(-1)


class TestPushRight:
    """Same crews, same order, nothing sooner than published."""

    def test_an_idle_crew_is_not_used(self):
        """South could dig on Monday, but north was to: north does it when it can."""
        yard = world(work("dig", 4, "north south"), jobs={"oak": job()})
        published = plan(dig=at(june(9), june(9, LAST)))
        storm = rained_out(yard, published, TUESDAY)
        assert push_right(storm.world, published.placements)["dig"] == at(june(10), june(10, LAST))

    def test_works_of_a_crew_keep_their_order_though_a_gap_is_free(self):
        """Elm's short work waits behind oak's, as it was to, rather than slip before it."""
        works = (work("oak dig", 4), work("elm dig", 1, job="elm"))
        yard = world(*works, crews=NORTH_ALONE)
        published = plan(oak_dig=at(june(8), june(8, LAST)), elm_dig=at(june(9), june(9)))
        monday = 1 << june(8, FIRST)
        storm = rained_out(yard, published, monday, "oak dig")
        pushed = push_right(storm.world, published.placements)
        assert pushed["oak dig"] == at(june(8, SECOND), june(9))
        assert pushed["elm dig"] == at(june(9, THIRD), june(9, THIRD))


class TestSixLines:
    """What is counted, and what is not."""

    def test_finish_promise_and_crew_days(self):
        """One day later, promise missed, and Wednesday and only Wednesday changed after the rain."""
        yard, published = two_days(jobs={"oak": job(promise=june(9, LAST))})
        storm = rained_out(yard, published, TUESDAY)
        (pushed,) = ways_out(storm, stop=a_hundred, ways=(Way.PUSH_RIGHT,))
        assert pushed.lines.finishes["oak"] == (june(9, LAST), june(10, LAST))
        assert pushed.lines.at_risk == ("oak",)
        assert pushed.lines.crew_days == (("north", date(2026, 6, 10)),)
        assert (pushed.lines.saturdays, pushed.lines.rentals) == ((), ())

    def test_fifteen_working_days_after_the_last_lost_one_count(self):
        """From Wednesday 10 to Tuesday 30 June, weekends lying between."""
        yard, _ = two_days()
        days = counted_days(yard, 1)
        assert (JUNE.day(min(days) * 6), JUNE.day(max(days) * 6)) == (
            date(2026, 6, 10),
            date(2026, 6, 30),
        )

    def test_a_saturday_worked_is_told(self):
        """A crew with a six-day week."""
        six = {"north": crew("north", week(weekdays=(0, 1, 2, 3, 4, 5)))}
        yard, published = two_days(crews=six)
        late = plan(dig=at(june(12), june(12, LAST)), fill=at(june(13), june(13, LAST)))
        lines = six_lines(yard, yard, published.placements, late, last_lost=1)
        assert lines.saturdays == (("north", date(2026, 6, 13)),)

    def test_a_rented_machine_kept_longer_is_told_in_days(self):
        """From Monday to Tuesday becomes Monday to Thursday; one that is ours costs nothing."""
        loader = {"loader": Machine("loader", "loader", (ALWAYS,))}
        works = (work("dig", 4, machines={"loader": 1}), work("fill", 4, machines={"loader": 1}))
        yard = world(*works, crews=NORTH_ALONE, machines=loader)
        held = ("loader", 0)
        was = plan(
            dig=at(june(8), june(8, LAST), "north", held),
            fill=at(june(9), june(9, LAST), "north", held),
        )
        now = plan(
            dig=at(june(8), june(8, LAST), "north", held),
            fill=at(june(11), june(11, LAST), "north", held),
        )
        rented = frozenset({"loader"})
        lines = six_lines(yard, yard, was.placements, now, last_lost=1, rented=rented)
        assert lines.rentals == (Extended("loader", "oak", 2),)
        assert six_lines(yard, yard, was.placements, now, last_lost=1).rentals == ()


class TestWaysOut:
    """Every way is sound; each does what its name says."""

    def test_nobody_works_weekends_so_no_overtime_is_a_twin(self):
        """It is told, not shown twice."""
        storm = rained_out(*two_days(), TUESDAY)
        found = {one.way: one for one in ways_out(storm, stop=a_hundred)}
        assert found[Way.NO_OVERTIME] == NoWay(Way.NO_OVERTIME, twin=Way.STEADY)
        assert all(isinstance(one, WayOut) for way, one in found.items() if way in BETTER[:2])

    def test_no_overtime_leaves_saturday_alone(self):
        """Filling waits for Monday though the crew could come on Saturday."""
        six = {"north": crew("north", week(weekdays=(0, 1, 2, 3, 4, 5)))}
        yard, _ = two_days(crews=six, now=june(11))
        published = plan(dig=at(june(11), june(11, LAST)), fill=at(june(12), june(12, LAST)))
        friday = (1 << june(13, 0)) - (1 << june(12, 0))
        storm = Storm(
            lose(yard, [Loss(friday, frozenset(yard.works))]), yard, published.placements, 4
        )
        ways = (Way.STEADY, Way.NO_OVERTIME)
        steady, calm = ways_out(storm, stop=a_hundred, ways=ways)
        assert calm.result.plan["fill"] == at(june(15), june(15, LAST))
        assert calm.lines.saturdays == ()
        assert judge_plan(storm.world, steady.result.plan).sound

    def test_on_promise_takes_another_crew_where_that_saves_the_promise(self):
        """North is out on Tuesday and Wednesday; south is free and the promise is Tuesday."""
        yard = world(
            work("dig", 4, "north south"), jobs={"oak": job(promise=june(9, LAST))}, now=june(9)
        )
        published = plan(dig=at(june(9), june(9, LAST)))
        days = (1 << june(11, 0)) - (1 << june(9, 0))
        storm = Storm(
            lose(yard, [Loss(days, crews=frozenset({"north"}))]), yard, published.placements, 0
        )
        found = {one.way: one for one in ways_out(storm, stop=a_hundred)}
        assert found[Way.ON_PROMISE].result.plan["dig"] == at(june(9), june(9, LAST), "south")
        assert found[Way.ON_PROMISE].result.score.late == 0
        assert found[Way.PUSH_RIGHT].result.plan["dig"] == at(june(11), june(11, LAST))
        assert found[Way.PUSH_RIGHT].result.score.late == 2

    def test_the_better_first_answer_is_told_first(self):
        """Push right is late, the old order is not."""
        yard = world(
            work("dig", 4, "north south"), jobs={"oak": job(promise=june(9, LAST))}, now=june(9)
        )
        published = plan(dig=at(june(9), june(9, LAST)))
        days = (1 << june(11, 0)) - (1 << june(9, 0))
        storm = Storm(
            lose(yard, [Loss(days, crews=frozenset({"north"}))]), yard, published.placements, 0
        )
        assert [one.way for one in first_answer(storm)] == [Way.OLD_ORDER, Way.PUSH_RIGHT]

    def test_what_cannot_be_pushed_right_is_told_with_its_reason(self):
        """Joints must be sawn within a day of the pour, and the saw's crew is out for three."""
        works = (work("pour", 3, "north", one_go=True), work("saw", 1, "south"))
        yard = world(*works, ties=(tie("pour", "saw", at_most=24 * 60),), jobs={"oak": job()})
        yard = replace(
            yard,
            works=yard.works | {"pour": replace(works[0], done=Done(june(8), june(8, THIRD)))},
            now=june(9),
        )
        published = plan(pour=at(june(8), june(8, THIRD)), saw=at(june(9), june(9), "south"))
        days = (1 << june(12, 0)) - (1 << june(9, 0))
        storm = Storm(
            lose(yard, [Loss(days, crews=frozenset({"south"}))]), yard, published.placements, 3
        )
        pushed = next(one for one in first_answer(storm) if one.way is Way.PUSH_RIGHT)
        assert isinstance(pushed, NoWay)
        assert "saw" in pushed.reason

    def test_the_earlier_plan_comes_back_where_it_still_stands(self):
        """Nothing is lost any more: every place is as published."""
        yard, published = two_days()
        found = restore(Storm(yard, yard, published.placements, 0))
        assert found.result.plan.placements == published.placements
        assert found.lines.crew_days == ()

    def test_the_same_tries_and_seed_give_the_same_plan(self):
        """No clock, no luck."""
        storm = invented_storm(3, 5, day=10)
        first, again = (ways_out(storm, stop=a_hundred, seed=7, ways=BETTER[:2]) for _ in range(2))
        assert [one.result.plan for one in first] == [one.result.plan for one in again]

    @pytest.mark.parametrize("seed", [1, 2])
    def test_on_an_invented_company_every_way_is_sound_and_steady_changes_least(self, seed):
        """Four yards of some forty works each, rained out for two days."""
        storm = invented_storm(4, seed, day=12)
        found = {one.way: one for one in ways_out(storm, stop=a_hundred, seed=seed)}
        told = {way: one for way, one in found.items() if isinstance(one, WayOut)}
        assert set(told) == set(Way) - {Way.NO_OVERTIME}
        for one in told.values():
            verdict = judge_plan(storm.world, one.result.plan)
            assert (verdict.breaches, verdict.score) == ((), one.result.score)
        days = {way: len(one.lines.crew_days) for way, one in told.items()}
        assert days[Way.STEADY] <= days[Way.PUSH_RIGHT]
        late = {way: one.result.score.late for way, one in told.items()}
        assert late[Way.ON_PROMISE] == min(late.values())


class TestSideBySide:
    """Ways that take a search are looked for at the same time, each in a process of its own."""

    def test_all_ways_come_back_as_asked(self):
        """Two searched in two processes; nobody works weekends, so the third is a twin at once."""
        storm = rained_out(*two_days(), TUESDAY)
        found = look_side_by_side(storm, BETTER, seconds=0.05)
        assert [one.way for one in found] == list(BETTER)
        assert found[2] == NoWay(Way.NO_OVERTIME, twin=Way.STEADY)
        for one in found[:2]:
            assert one.result.plan["fill"] == at(june(10), june(10, LAST))

    def test_a_process_that_dies_costs_only_its_way(self):
        """Its end of the pipe closes, and nothing was sent."""
        ours, theirs = Pipe(duplex=False)
        theirs.close()
        assert _heard(Way.ON_PROMISE, ours, 0.0) == NoWay(
            Way.ON_PROMISE, "the search for it broke off: ask again"
        )
