"""Classic projects: published optima, schedules counted by hand, faults found slot by slot."""

from __future__ import annotations

import pytest

from jobs.scheduling.budget import Tries
from jobs.scheduling.errors import BadWorld
from jobs.scheduling.levelling import solve_project
from jobs.scheduling.search.project import (
    Lister,
    Project,
    Walk,
    faults_of,
    least_makespan,
    makespan,
    mirrored,
    tails,
)
from tests.shops import FT06, FT06_BEST, SHOPS, job_shop


def diamond(capacity: int = 2) -> Project:
    """Dig (2), then pipe (3) and wire (4) beside each other if two fit, then fill (1)."""
    return Project(
        "diamond",
        durations=(2, 3, 4, 1),
        after=((1, 2), (3,), (3,), ()),
        demands=((1,), (1,), (1,), (1,)),
        capacities=(capacity,),
    )


def test_the_six_by_six_job_shop_is_proven_at_its_published_optimum():
    """55, by counted work of one worker."""
    shop = job_shop("ft06", FT06)
    walk = Walk(shop, 1)
    walk.run(Tries(40))
    outcome = solve_project(shop, walk.best, Tries(10), seed=1)
    assert faults_of(shop, outcome.starts) == []
    assert (makespan(shop, outcome.starts), outcome.bound) == (FT06_BEST, FT06_BEST)


@pytest.mark.slow(
    reason="half a minute of solving; by hand: pytest -m slow tests/core/test_project.py"
)
@pytest.mark.parametrize("name", SHOPS)
def test_classic_job_shops_are_proven_at_their_published_optima(name):
    """ft10 stood open for 26 years; counted work of one worker, so the same on every machine."""
    best, text = SHOPS[name]
    shop = job_shop(name, text)
    walk = Walk(shop, 0)
    walk.run(Tries(200))
    outcome = solve_project(shop, walk.best, Tries(1_000_000), seed=0)
    assert faults_of(shop, outcome.starts) == []
    assert (makespan(shop, outcome.starts), outcome.bound) == (best, best)


@pytest.mark.parametrize("turned", [False, True])
def test_bounds_are_raised_until_a_schedule_meets_them_either_way(turned):
    """Three lifts of two hands each for 2, three hands there: 6, though the load alone would allow 4."""
    lifts = Project("lifts", (2, 2, 2), ((), (), ()), ((2,), (2,), (2,)), (3,))
    project = lifts.turned() if turned else lifts
    told = []
    outcome = solve_project(
        project, [0, 3, 6], Tries(10), seed=1, told=lambda _, bound: told.append(bound)
    )
    assert faults_of(project, outcome.starts) == []
    assert (makespan(project, outcome.starts), outcome.bound) == (6, 6)
    assert told[-1] == 6


def test_a_mirrored_schedule_is_one_of_the_turned_project():
    """The fill comes first there and the dig last; the pipe, as early as the wire here, ends with it there."""
    there = mirrored(diamond(), [0, 2, 2, 6])
    assert there == [5, 2, 1, 0]
    assert faults_of(diamond().turned(), there) == []
    assert mirrored(diamond().turned(), there) == [0, 2, 2, 6]


def test_no_walk_beats_the_published_optimum():
    """Nor does a schedule from lists break the shop."""
    shop = job_shop("ft06", FT06)
    walk = Walk(shop, 2)
    first = walk.length
    walk.run(Tries(100))
    assert FT06_BEST <= walk.length <= first
    assert faults_of(shop, walk.best) == []


def test_a_walk_that_finds_nothing_more_leaves_the_rest_of_the_time_to_others():
    """Six lifts of two hands each for 2, three hands there: 12 is best, though the load alone would allow 8."""
    lifts = Project("lifts", (2,) * 6, ((),) * 6, ((2,),) * 6, (3,))
    walk = Walk(lifts, 0)
    walk.run(asked := Tries(1_000_000))
    assert (walk.length, least_makespan(lifts), asked.asked) == (12, 8, 8)


def test_a_list_that_cannot_lead_to_a_schedule_short_enough_is_left():
    """With room for one the diamond takes 10: nothing is told of it where 9 is asked, all of it where 10 is."""
    lister = Lister(diamond(capacity=1))
    assert lister.schedule([0, 1, 2, 3], longest=9) == []
    assert lister.schedule([0, 1, 2, 3], longest=10) == [0, 2, 5, 9]


@pytest.mark.parametrize(("capacity", "length"), [(2, 7), (1, 10)])
def test_two_beside_each_other_or_one_after_the_other(capacity, length):
    """2 + 4 + 1 with room for two, 2 + 3 + 4 + 1 with room for one: the bounds say so too."""
    project = diamond(capacity)
    starts = Lister(project).schedule([0, 1, 2, 3])
    assert makespan(project, starts) == least_makespan(project) == length


def test_an_activity_waits_until_every_resource_has_room_for_all_its_slots():
    """Three of five hands until slot 4 leave two: the crane lift of three fits from slot 4 on, not before."""
    project = Project(
        "hands",
        durations=(4, 2, 3),
        after=((), (), ()),
        demands=((3, 0), (1, 1), (3, 1)),
        capacities=(5, 1),
    )
    assert Lister(project).schedule([0, 1, 2]) == [0, 0, 4]


def test_forerunners_come_first_whatever_the_keys_say():
    """The fill has the smallest key and still comes last."""
    assert Lister(diamond()).in_turn([3.0, 2.0, 1.0, 0.0]) == [0, 1, 2, 3]


def test_tails_count_to_the_end():
    """Of the dig: 2 + 4 + 1."""
    assert tails(diamond()) == [7, 4, 5, 1]


def test_every_fault_is_named():
    """Wire starts before the dig ends, and three are under way where two fit."""
    assert faults_of(diamond(), [0, 1, 1, 5]) == [
        "activity 2 starts before 1 ends",
        "activity 3 starts before 1 ends",
        "resource 1 is overdrawn in slot 1",
    ]


def test_a_ring_and_a_demand_too_high_are_refused():
    """By name."""
    with pytest.raises(BadWorld, match="in a ring"):
        Project("ring", (1, 1), ((1,), (0,)), ((0,), (0,)), (1,))
    with pytest.raises(BadWorld, match="activity 1 wants 3 of 2"):
        Project("greedy", (1,), ((),), ((3,),), (2,))
