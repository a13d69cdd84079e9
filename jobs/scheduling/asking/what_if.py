"""What if? A world with more hands, machines, days or an earlier start, and what that buys in days.

Changes are made to a world, never to what it was read from. Both sides are planned by the same means; where a
change only adds, the plan without it is brought forward in the new world, too, so that it never counts as worse.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from jobs.scheduling.calendars import days_mask, week_mask
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.paths.network import usual_calendar
from jobs.scheduling.reasons.retime import bring_forward
from jobs.scheduling.search.bounds import days_late
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date

    from jobs.scheduling.result import Plan, Result
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import World

SECOND = "+"
"""Added to the name of a crew for one more like it."""


@dataclass(frozen=True, slots=True)
class Bought:
    """What a change buys one job: last counted slots, days late, working days sooner.

    ``before`` is None for a job that is only in the changed world, and ``after`` for one only in the other.
    """

    job: str
    before: int | None
    after: int | None
    late_before: int
    late_after: int
    days: float


@dataclass(frozen=True, slots=True)
class Difference:
    """What a change buys: each job, weighted days late saved, and working days sooner in all."""

    jobs: tuple[Bought, ...]
    late: int
    days: float


def with_crew(
    world: World, like: str, first: date, last: date, weekdays: Collection[int] = range(7)
) -> World:
    """Return a world with one more crew like another, on some weekdays (Monday is 0) of a span."""
    crew, new = world.crews[like], like + SECOND
    days = _days(world.axis, first, last, weekdays)
    second = replace(crew, id=new, open=crew.open & days, optional=crew.optional & days)
    works = {
        work.id: replace(
            work,
            crews={**work.crews, new: work.crews[like]},
            short={**work.short, new: work.short.get(like, 0)},
        )
        if like in work.crews and work.done is None
        else work
        for work in world.works.values()
    }
    return replace(world, crews={**world.crews, new: second}, works=works)


def with_machine(world: World, name: str, first: date, last: date) -> World:
    """Return a world with one more machine of a kind for a span."""
    machine = world.machines[name]
    more = replace(machine, open=(*machine.open, days_mask(world.axis, first, last)))
    return replace(world, machines={**world.machines, name: more})


def with_days(world: World, crews: Collection[str], first: date, last: date, weekday: int) -> World:
    """Return a world in which some crews also work all day slots of a weekday of a span, holidays not."""
    axis = world.axis
    week = [axis.day_mask(Shift.DAY) if day == weekday else 0 for day in range(7)]
    more = week_mask(axis, week, closed=world.holidays) & days_mask(axis, first, last)
    changed = {
        name: replace(crew, open=crew.open | more) if name in crews else crew
        for name, crew in world.crews.items()
    }
    return replace(world, crews=changed)


def with_start(world: World, job: str, first: date) -> World:
    """Return a world in which a yard is ours from another day."""
    yard = world.jobs[job]
    release = max(0, world.axes[yard.zone].slot(first))
    return replace(world, jobs={**world.jobs, job: replace(yard, release=release)})


def not_worse(changed: World, after: Result, before: Plan) -> Plan:
    """Return the better of a changed world's plan and the plan without the change, brought forward in it."""
    if changed.works.keys() == before.placements.keys():
        brought = bring_forward(changed, before)
        verdict = judge_plan(changed, brought)
        if verdict.sound and verdict.score < after.score:
            return brought
    return after.plan


def what_it_buys(world: World, before: Plan, changed: World, after: Plan) -> Difference:
    """Compare plans of two worlds, job by job."""
    ends = _ends(world, before), _ends(changed, after)
    jobs = [*world.jobs, *(job for job in changed.jobs if job not in world.jobs)]
    rows = [_bought(world, changed, job, ends) for job in jobs if job in ends[0] or job in ends[1]]
    weights = {job: it.weight for job, it in {**world.jobs, **changed.jobs}.items()}
    return Difference(
        tuple(rows),
        sum(weights[row.job] * (row.late_before - row.late_after) for row in rows),
        sum(row.days for row in rows),
    )


def _bought(
    world: World, changed: World, job: str, ends: tuple[dict[str, int], dict[str, int]]
) -> Bought:
    before, after = (side.get(job) for side in ends)
    days = 0.0
    if before is not None and after is not None:
        slots = usual_calendar(world, world.jobs[job])
        count = (
            slots.count(after + 1, before) if after < before else -slots.count(before + 1, after)
        )
        days = count / max(1, world.axis.day_mask(Shift.DAY).bit_count())
    late = [
        0 if end is None else days_late(side, side.jobs[job], end)
        for side, end in ((world, before), (changed, after))
    ]
    return Bought(job, before, after, late[0], late[1], days)


def _ends(world: World, plan: Plan) -> dict[str, int]:
    """Last counted slot of each job."""
    ends: dict[str, int] = {}
    for work in world.works.values():
        if work.counts:
            ends[work.job] = max(plan[work.id].end, ends.get(work.job, 0))
    return ends


def _days(axis: SlotAxis, first: date, last: date, weekdays: Collection[int]) -> int:
    full = (1 << axis.per_day) - 1
    week = [full if day in weekdays else 0 for day in range(7)]
    return week_mask(axis, week) & days_mask(axis, first, last)
