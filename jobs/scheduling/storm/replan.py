"""Ways out when time was lost: quick answers first, then better ones, all judged, on the same six lines.

*Push right* keeps every crew's order of works; *old order* builds anew in the order of the published plan. *Steady*
changes as few crew-days as it can, *on promise* finishes first, *no overtime* is steady without weekends. A way that
finds no plan is told with its reason; one that would equal another is told as its twin.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

from jobs.scheduling.budget import Tries
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.placing.repair import Mender, in_old_order, keep_places, push_right
from jobs.scheduling.search.bounds import days_late

from .aims import rests
from .judged import Account, judged
from .on_promise import on_promise
from .standing import Standing
from .steady import Near, lateness
from .unavoidable import must_change
from .ways_out import AT_ONCE, BETTER, NoWay, Way, WayOut
from .weekends import without_weekends

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import World

    from .ways_out import Storm

MANY_WORKS = 500
"""Works from which on *steady* begins with a rest laid out anew: a walk is too short there to win so much back."""
FEWER_LATE = 0.95
"""Share of the late days of pushing right from which on *steady* gives crew-days up for fewer."""


def ways_out(
    storm: Storm,
    *,
    stop: Callable[[], Budget],
    seed: int = 0,
    ways: tuple[Way, ...] = (*AT_ONCE, *BETTER),
) -> tuple[WayOut | NoWay, ...]:
    """Return the ways asked for, the first answers by score, the others as asked.

    Parameters
    ----------
    stop
        Called for each search that is begun; gives what says when that search has to end.
    seed
        For the searches; the first answers need none.
    """
    found: list[WayOut | NoWay] = []
    for way in ways:
        try:
            found.append(_way(storm, way, stop, seed))
        except NoPlan as error:
            found.append(NoWay(way, str(error)))
    return tuple(sorted(found, key=_turn))


def searched(storm: Storm, way: Way) -> bool:
    """Return True if a way takes a search, and not a moment only."""
    if way is Way.NO_OVERTIME:
        return without_weekends(storm.world) is not storm.world
    return way not in AT_ONCE


def first_answer(storm: Storm) -> tuple[WayOut | NoWay, ...]:
    """Return what can be said at once, the better way first."""
    return ways_out(storm, stop=_at_once, ways=AT_ONCE)


def restore(storm: Storm) -> WayOut | NoWay:
    """Return the published places again for all that can stand there, the rest moved into gaps."""
    try:
        plan = keep_places(storm.world, storm.published)
    except NoPlan as error:
        return NoWay(Way.STEADY, str(error))
    return judged(storm, storm.world, Way.STEADY, plan, Account("places kept", 0, 1))


def _at_once() -> Budget:
    return Tries(0)


def _turn(found: WayOut | NoWay) -> tuple[int, tuple[int, ...]]:
    """First answers by their score, then the others as they are named."""
    if found.way in AT_ONCE:
        worst = (1 << 60, 0)
        return 0, found.result.score if isinstance(found, WayOut) else worst
    return 1 + list(Way).index(found.way), (0, 0)


def _way(storm: Storm, way: Way, stop: Callable[[], Budget], seed: int) -> WayOut | NoWay:
    world, old = storm.world, storm.published
    if way is Way.PUSH_RIGHT:
        return judged(storm, world, way, push_right(world, old), Account(way, 0, 1))
    if way is Way.OLD_ORDER:
        return judged(storm, world, way, in_old_order(world, old), Account(way, 0, 1))
    if way is Way.ON_PROMISE:
        return on_promise(storm, stop(), seed)
    if way is Way.NO_OVERTIME:
        calm = without_weekends(world)
        if calm is world:
            return NoWay(way, twin=Way.STEADY)
        return _steady(storm, calm, way, stop(), seed)
    return _steady(storm, world, way, stop(), seed)


def _steady(storm: Storm, world: World, way: Way, budget: Budget, seed: int) -> WayOut | NoWay:
    """Keep what stands, then look for less upset and fewer late days."""
    mender = Mender(world, storm.published)
    standing = Standing(mender, storm.before, storm.published, storm.last_lost)
    least = len(must_change(mender.ready, storm.before, storm.published, storm.last_lost))
    pushed, below = _late_when_pushed(world, storm.published)
    _begin(mender, storm.published)
    near = Near(standing, pushed, FEWER_LATE * sum(pushed.values()), seed, below)
    if len(standing.free) > MANY_WORKS:
        near.begin_anew(rests(standing, storm.last_lost), budget)
    near.run(budget)
    near.restore()
    found = judged(storm, world, way, mender.plan(), Account(way, seed, near.tried))
    return replace(found, least_changed=least) if isinstance(found, WayOut) else found


def _begin(mender: Mender, old: Mapping[str, Placement]) -> None:
    """Lay out all that still stands in its place, the rest in gaps; or else the old order built anew."""
    mender.clear()
    if not mender.keep_places():
        mender.clear()
        mender.lay_out(in_old_order(mender.ready.world, old))


def _late_when_pushed(world: World, old: Mapping[str, Placement]) -> tuple[dict[str, float], float]:
    """Return how late each yard is if everything is pushed right, and the whole weighted days of all.

    None and no end if that cannot be done.
    """
    try:
        plan = push_right(world, old)
    except NoPlan:
        return {}, inf
    ends: dict[str, int] = {}
    for name, work in world.works.items():
        if work.counts:
            ends[work.job] = max(plan[name].end, ends.get(work.job, 0))
    late = {job: lateness(world, job, end) for job, end in ends.items()}
    jobs = world.jobs
    return late, sum(
        days_late(world, jobs[job], end) * jobs[job].weight for job, end in ends.items()
    )
