"""Two plans side by side: what moved, whose promise is missed, which crew days change."""

from __future__ import annotations

from datetime import date

from jobs.scheduling.compare import Finish, Move, compare_plans
from tests.worlds import LAST, SECOND, THIRD, at, job, june, plan, work, world


def yards():
    """North digs at oak and plants at elm; south lays at oak, which is promised for Tue 9."""
    return world(
        work("dig", 4),
        work("plant", 2, job="elm"),
        work("lay", 2, "south"),
        jobs={"oak": job(promise=june(9, LAST)), "elm": job("elm")},
    )


OLD = plan(
    dig=at(june(8), june(8, LAST)),
    plant=at(june(9), june(9, SECOND)),
    lay=at(june(9), june(9, SECOND), "south"),
)


def test_the_same_plan_changes_nothing():
    """Nothing moved, nothing at risk."""
    found = compare_plans(yards(), OLD.placements, OLD)
    assert found.same
    assert (found.at_risk, found.crew_days) == ((), ())
    assert found.finishes == {
        "oak": Finish(june(9, SECOND), june(9, SECOND)),
        "elm": Finish(june(9, SECOND), june(9, SECOND)),
    }


def test_a_day_lost_at_oak():
    """Digging and laying come a day later: oak misses Tue 9, and five crew days change.

    North loses Mon 8, is in both yards on Tue 9 and at oak on Wed 10; south moves from Tue to Wed.
    """
    new = plan(
        dig=at(june(9, THIRD), june(10, SECOND)),
        plant=at(june(9), june(9, SECOND)),
        lay=at(june(10, THIRD), june(10, LAST), "south"),
    )
    found = compare_plans(yards(), OLD.placements, new)
    assert found.at_risk == ("oak",)
    assert found.finishes["oak"] == Finish(june(9, SECOND), june(10, LAST))
    assert found.crew_days == (
        ("north", date(2026, 6, 8)),
        ("north", date(2026, 6, 9)),
        ("south", date(2026, 6, 9)),
        ("north", date(2026, 6, 10)),
        ("south", date(2026, 6, 10)),
    )
    assert found.moved == (
        Move("dig", OLD["dig"], new["dig"]),
        Move("lay", OLD["lay"], new["lay"]),
    )


def test_moving_within_a_day_changes_no_crew_day():
    """Planting after lunch instead of before: north is at elm on Tue 9 all the same."""
    new = plan(
        **{**OLD.placements, "plant": at(june(9, THIRD), june(9, LAST))},
    )
    found = compare_plans(yards(), OLD.placements, new)
    assert found.crew_days == ()
    assert [move.work for move in found.moved] == ["plant"]


def test_works_that_come_and_go_are_told():
    """The moat is no longer wanted; the planting is new, and so is north's day at elm."""
    old = {"moat": OLD["plant"], "dig": OLD["dig"], "lay": OLD["lay"]}
    found = compare_plans(yards(), old, OLD)
    assert (found.added, found.removed, found.moved) == (("plant",), ("moat",), ())
    assert found.finishes["elm"] == Finish(None, june(9, SECOND))
    assert found.crew_days == (("north", date(2026, 6, 9)),)
    assert not found.same
