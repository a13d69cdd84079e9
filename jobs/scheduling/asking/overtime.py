"""Days a crew may work but need not: asked for only where promises are missed without them, and as few as will do.

A plan is made without them first. If promises are missed, all that could help are opened; if that helps,
they are taken out again in ever smaller bunches as long as nothing gets later. What is left is told with the
days of each promise it saves: the days that would be lost without it alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.calendars import worked_slots
from jobs.scheduling.errors import NoPlan

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from jobs.scheduling.result import Plan, Result
    from jobs.scheduling.world import World

MOST_BUILDS = 60
"""Plans made at most to find out which days are needed."""


class Grant(NamedTuple):
    """An optional day of a crew that a plan may use; the day by its number on the axis."""

    crew: str
    day: int


class Saving(NamedTuple):
    """A day asked for, and the days of promises that would be lost without it, by job."""

    grant: Grant
    jobs: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Overtime:
    """A plan that uses optional days, the world with just these open, and what each saves."""

    world: World
    result: Result
    savings: tuple[Saving, ...]


def optional_days(world: World) -> tuple[Grant, ...]:
    """Return every optional day still to come, by crew."""
    per_day, days = _sizes(world)
    first = world.now // per_day + (1 if world.now % per_day else 0)
    return tuple(
        Grant(crew.id, day)
        for crew in world.crews.values()
        if crew.optional
        for day in range(first, days)
        if crew.optional >> day * per_day & _day(per_day)
    )


def with_days(world: World, grants: Iterable[Grant]) -> World:
    """Return a world in which of all optional days still to come just some are open."""
    per_day, _ = _sizes(world)
    ahead = ~((1 << world.now) - 1)
    opened = dict.fromkeys(world.crews, 0)
    for crew, day in grants:
        if crew in opened:
            opened[crew] |= _day(per_day) << day * per_day
    crews = {
        name: replace(
            crew, open=crew.open & ~(crew.optional & ahead) | crew.optional & opened[name]
        )
        if crew.optional
        else crew
        for name, crew in world.crews.items()
    }
    return replace(world, crews=crews)


def plan_overtime(
    world: World, result: Result, build: Callable[[World], Result]
) -> Overtime | None:
    """Ask for the fewest optional days by which promises are missed less.

    Parameters
    ----------
    result
        The best plan without any.
    build
        Makes a plan of a world; asked at most ``MOST_BUILDS`` times and once a day that is kept.

    Returns
    -------
    Overtime or None
        None if no promise is missed, or no optional day helps.
    """
    if not result.score.late:
        return None
    found = _Search(world, build)
    best = found.attempt(_helpful(world, result.plan))
    if best is None or best.result.score.late >= result.score.late:
        return None
    size = max(1, len(best.grants))
    while size:
        best = _thinned(found, best, size)
        size //= 2
    return _told(found, best)


def used(world: World, plan: Plan, grants: Iterable[Grant]) -> tuple[Grant, ...]:
    """Return those of some optional days on which their crew works."""
    per_day, _ = _sizes(world)
    worked = {
        Grant(crew, slot // per_day)
        for name, at in plan.placements.items()
        if at.crew in world.crews and name in world.works
        for crew in world.works[name].held_by(at.crew)
        for slot in worked_slots(world, world.works[name], at)
    }
    return tuple(grant for grant in grants if grant in worked)


class _Attempt(NamedTuple):
    grants: tuple[Grant, ...]
    world: World
    result: Result


@dataclass
class _Search:
    """Makes plans with some optional days, and counts them."""

    world: World
    build: Callable[[World], Result]
    tried: int = 0

    def attempt(self, grants: Sequence[Grant]) -> _Attempt | None:
        """Make a plan with some days; None if there is none, or it is one too many."""
        if not grants or self.tried >= MOST_BUILDS:
            return None
        self.tried += 1
        world = with_days(self.world, grants)
        try:
            result = self.build(world)
        except NoPlan:
            return None
        kept = used(world, result.plan, grants)
        return _Attempt(kept, with_days(self.world, kept), result)


def _helpful(world: World, plan: Plan) -> list[Grant]:
    """Days of crews that can do something for the late jobs, before the last of these is done."""
    late = late_days(world, plan)
    works = [work for work in world.works.values() if late.get(work.job)]
    able = {crew for work in works for crew in (*work.crews, work.lent)}
    per_day, _ = _sizes(world)
    last = max((plan[work.id].end // per_day for work in works), default=-1)
    return [grant for grant in optional_days(world) if grant.crew in able and grant.day <= last]


def _thinned(found: _Search, best: _Attempt, size: int) -> _Attempt:
    """Take bunches of days out, the latest first, as long as no promise is missed by more."""
    at = len(best.grants)
    while at > 0:
        bunch = best.grants[max(0, at - size) : at]
        fewer = found.attempt([grant for grant in best.grants if grant not in bunch])
        if fewer is not None and fewer.result.score.late <= best.result.score.late:
            best = fewer
            at = min(at - size, len(best.grants))
        else:
            at -= size
    return best


def _told(found: _Search, best: _Attempt) -> Overtime:
    """Say what each day saves: what would be late without it alone."""
    late = late_days(best.world, best.result.plan)
    savings = []
    for grant in best.grants:
        others = with_days(found.world, [one for one in best.grants if one != grant])
        try:
            without = late_days(others, found.build(others).plan)
        except NoPlan:
            without = late
        jobs = [(job, days - late[job]) for job, days in without.items() if days > late[job]]
        savings.append(Saving(grant, tuple(jobs)))
    return Overtime(best.world, best.result, tuple(savings))


def late_days(world: World, plan: Plan) -> dict[str, int]:
    """Return the calendar days by which each promise is missed, by job."""
    ends: dict[str, int] = {}
    for work in world.works.values():
        if work.counts:
            ends[work.job] = max(ends.get(work.job, -1), plan[work.id].end)
    per_day, _ = _sizes(world)
    return {
        job.id: max(0, ends[job.id] // per_day - job.promise // per_day)
        for job in world.jobs.values()
        if job.promise is not None and job.id in ends
    }


def _sizes(world: World) -> tuple[int, int]:
    axis = world.axis
    return axis.per_day, axis.days


def _day(per_day: int) -> int:
    return (1 << per_day) - 1
