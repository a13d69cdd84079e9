"""What the search goes by: what holds a finish up, and how soon a job can be done once a work stands."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, assume, given, settings

from jobs.scheduling.budget import Tries
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.placing.board import Board
from jobs.scheduling.placing.builder import build_in_turn
from jobs.scheduling.placing.held_back import held_back
from jobs.scheduling.placing.putting import put_back
from jobs.scheduling.ready import Ready
from jobs.scheduling.search.dispatch import build_quickly
from jobs.scheduling.search.hold_ups import HoldUp, hold_ups, in_line, in_the_way
from jobs.scheduling.search.reach import reach_of
from jobs.scheduling.search.search import Search, stood_on
from jobs.trade.work import Relation
from tests.worlds import LAST, at, june, tie, work, world, worlds

patient = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def two_yards(**places):
    """North digs oak and elm, a day each; stone sets elm in another day, after its dig."""
    ready = Ready(
        world(
            work("oak dig", 4),
            work("elm dig", 4, job="elm"),
            work("elm stone", 4, "stone", job="elm"),
            ties=(tie("elm dig", "elm stone"),),
        )
    )
    board = Board(ready, early_dates(ready))
    for name, place in places.items():
        assert board.put_where(ready.number[name.replace("_", " ")], place)
    return ready, board


def laid_out():
    """Oak is dug on 8 June, elm on 9 June and set on 10 June."""
    return two_yards(
        oak_dig=at(june(8), june(8, LAST), "north"),
        elm_dig=at(june(9), june(9, LAST), "north"),
        elm_stone=at(june(10), june(10, LAST), "stone"),
    )


def test_a_finish_is_held_up_where_a_crew_is_busy_elsewhere():
    """Elm could be dug on 8 June if north were not at oak; its stone waits for nobody but the dig."""
    ready, board = laid_out()
    held = list(hold_ups(board, ready.number["elm stone"]))
    assert held == [HoldUp(ready.number["elm dig"], june(8))]


def test_who_is_in_the_way_is_named():
    """It is oak's dig that north is busy with, not what comes later."""
    ready, board = laid_out()
    dig = ready.number["elm dig"]
    way, everything = board.by[dig], range(len(ready.works))
    found = in_the_way(board, HoldUp(dig, june(8)), way, everything)
    assert found == [ready.number["oak dig"]]


def test_who_stands_in_line_for_a_crew_is_named():
    """Before elm's dig north is at oak; south does nothing."""
    ready, board = laid_out()
    held, everything = HoldUp(ready.number["elm dig"], june(8)), range(len(ready.works))
    assert in_line(board, held, june(12), ("crew", "north"), everything) == [
        ready.number["oak dig"]
    ]
    assert in_line(board, held, june(12), ("crew", "south"), everything) == []


def test_a_line_ends_with_the_last_slot_told():
    """Stone's crew is at elm from 10 June on: in line until then, and not until the day before."""
    ready, board = laid_out()
    held, everything = HoldUp(ready.number["elm dig"], june(8)), range(len(ready.works))
    stone = [ready.number["elm stone"]]
    assert in_line(board, held, june(10), ("crew", "stone"), everything) == stone
    assert in_line(board, held, june(9, LAST), ("crew", "stone"), everything) == []


@pytest.mark.parametrize("seed", range(5))
def test_links_between_yards_keep_the_turns_within_them(seed):
    """Oak is dug before elm, hauled before or after; elm's stone begins no sooner than its dig, whatever is tried."""
    ready = Ready(
        world(
            work("oak dig", 1),
            work("oak haul", 4),
            work("elm dig", 1, job="elm"),
            work("elm stone", 1, "stone", job="elm"),
            ties=(
                tie("oak dig", "elm dig"),
                tie("elm dig", "elm stone", relation=Relation.START_START),
            ),
        )
    )
    board = Board(ready, early_dates(ready))
    build_in_turn(board, held_back(ready), [0.0, 1.0, 2.0, 3.0], 1)
    search = Search(board, seed)
    for _ in range(60):
        search.step(float(ready.size))
        assert all(board.stands(i) for i in range(4))


def test_of_several_walks_the_best_is_kept():
    """Elm's stone set a day late, as soon as it is dug, and late again: with no try at all, the second plan stays."""
    ready, board = laid_out()
    soon, stone = stood_on(board), ready.number["elm stone"]
    board.remove(stone)
    assert board.put_where(stone, at(june(11), june(11, LAST), "stone"))
    search, late = Search(board, 0), stood_on(board)
    search.run_from([late, soon, late], Tries(0))
    assert stood_on(board) == late
    search.to_best()
    assert stood_on(board) == soon
    assert search.ends == [june(8, LAST), june(10, LAST)]


def test_a_job_is_done_no_sooner_than_what_follows_lets_it():
    """Dug on Tuesday, elm is set on Wednesday; dug on Friday, on Monday."""
    ready, board = two_yards()
    reach = reach_of(board)[ready.number["elm dig"]]
    assert reach[june(9, LAST)] == june(10, LAST)
    assert reach[june(12, LAST)] == june(15, LAST)


@patient
@given(worlds())
def test_no_plan_ends_sooner_than_a_work_in_it_lets_it(drawn):
    """In any plan of a drawn world, each work's end promises no later finish than its job has."""
    try:
        placed = build_quickly(drawn).plan.placements
        ready = Ready(drawn)
        board = Board(ready, early_dates(ready))
    except NoPlan:
        assume(False)
        raise
    finish = dict.fromkeys(drawn.jobs, 0)
    for one in ready.works:
        if one.counts:
            finish[one.job] = max(finish[one.job], placed[one.id].end)
    reach = reach_of(board)
    for i, one in enumerate(ready.works):
        if i not in ready.fixed:
            assert reach[i][placed[one.id].end] <= finish[one.job]


def test_putting_back_ends_when_it_is_hopeless():
    """Told that the second work ends too late, it goes no further: the third is not put."""
    ready, board = two_yards()
    told = []

    def hopeless(i, end):
        told.append((ready.works[i].id, end))
        return end > june(8, LAST)

    assert not put_back(board, [0, 1, 2], hopeless)
    assert told == [("oak dig", june(8, LAST)), ("elm dig", june(9, LAST))]
