"""Ways out when time was lost: quick answers first, then better ones, all judged, on the same six lines.

*Push right* keeps every crew's order of works; *old order* builds anew in the order of the published plan. *Steady*
changes as few crew-days as it can, *on promise* finishes first, *no overtime* is steady without weekends. A way that
finds no plan is told with its reason; one that would equal another is told as its twin.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from math import inf
from typing import TYPE_CHECKING

from jobs.scheduling.asking.overtime import plan_overtime
from jobs.scheduling.budget import Tries
from jobs.scheduling.calendars import days_mask
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.placing.repair import Mender, in_old_order, keep_places, push_right
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Plan, Result, Status
from jobs.scheduling.search.bounds import days_late, lower_bound
from jobs.scheduling.search.dispatch import build_plan, build_quickly
from jobs.scheduling.search.search import Search
from jobs.scheduling.upset import SATURDAY, Lines, six_lines

from .aims import rests
from .standing import Standing
from .steady import Near, lateness
from .unavoidable import must_change

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from jobs.scheduling.asking.overtime import Saving
    from jobs.scheduling.budget import Budget
    from jobs.scheduling.result import Placement, Stop
    from jobs.scheduling.world import World

MANY_WORKS = 500
"""Works from which on *steady* begins with a rest laid out anew: a walk is too short there to win so much back."""
FEWER_LATE = 0.95
"""Share of the late days of pushing right from which on *steady* gives crew-days up for fewer."""


class Way(StrEnum):
    """Ways out by name."""

    PUSH_RIGHT = "push-right"
    OLD_ORDER = "old-order"
    STEADY = "steady"
    ON_PROMISE = "on-promise"
    NO_OVERTIME = "no-overtime"


AT_ONCE = (Way.PUSH_RIGHT, Way.OLD_ORDER)
"""The first answer; the better one is told first."""
BETTER = (Way.STEADY, Way.ON_PROMISE, Way.NO_OVERTIME)


@dataclass(frozen=True, slots=True)
class Storm:
    """What ways out are looked for from.

    Attributes
    ----------
    world
        With the time lost; ``world.now`` is the first slot that can be planned.
    before
        The same world without it.
    published
        Where the works stood, by id, on the same slot axis.
    last_lost
        Number on the axis of the last day lost.
    rented
        Machines that are rented.
    """

    world: World
    before: World
    published: Mapping[str, Placement]
    last_lost: int
    rented: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class WayOut:
    """A sound plan with its six lines.

    Attributes
    ----------
    savings
        The optional days it asks for.
    least_changed
        Crew-days that no plan can help changing, where that was counted.
    """

    way: Way
    result: Result
    lines: Lines
    savings: tuple[Saving, ...] = ()
    least_changed: int | None = None


@dataclass(frozen=True, slots=True)
class NoWay:
    """A way that gives no plan of its own: the reason, or the way it is a twin of."""

    way: Way
    reason: str = ""
    twin: Way | None = None


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
    return _judged(storm, storm.world, Way.STEADY, plan, _Account("places kept", 0, 1))


@dataclass(frozen=True, slots=True)
class _Account:
    rule: str
    seed: int
    tried: int


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
        return _judged(storm, world, way, push_right(world, old), _Account(way, 0, 1))
    if way is Way.OLD_ORDER:
        return _judged(storm, world, way, in_old_order(world, old), _Account(way, 0, 1))
    if way is Way.ON_PROMISE:
        return _on_promise(storm, stop(), seed)
    if way is Way.NO_OVERTIME:
        calm = without_weekends(world)
        if calm is world:
            return NoWay(way, twin=Way.STEADY)
        return _steady(storm, calm, way, stop(), seed)
    return _steady(storm, world, way, stop(), seed)


def without_weekends(world: World) -> World:
    """Return a world in which no crew works on Saturdays and Sundays; the same if none does."""
    axis = next(iter(world.axes.values()))
    weekend = 0
    for day in range(axis.days):
        date = axis.day(day * axis.per_day)
        if date.weekday() >= SATURDAY and day * axis.per_day >= world.now:
            weekend |= days_mask(axis, date, date)
    if not any(crew.open & weekend & axis_days(world) for crew in world.crews.values()):
        return world
    crews = {name: replace(crew, open=crew.open & ~weekend) for name, crew in world.crews.items()}
    return replace(world, crews=crews)


def axis_days(world: World) -> int:
    """Bitmap of the whole axis."""
    return (1 << next(iter(world.axes.values())).size) - 1


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
    found = _judged(storm, world, way, mender.plan(), _Account(way, seed, near.tried))
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


def _on_promise(storm: Storm, budget: Budget, seed: int) -> WayOut | NoWay:
    """Take the best of quick plans, and look for one that finishes sooner."""
    world, old = storm.world, storm.published
    best = min(_quick(world, old, budget, seed), key=lambda plan: judge_plan(world, plan).score)
    found, tried = best, 1
    mender = Mender(world, old)
    try:
        mender.lay_out(best)
    except NoPlan:
        pass
    else:
        search = Search(mender.board, seed)
        search.run(budget)
        search.to_best()
        tried = search.tried
        found = min(best, mender.plan(), key=lambda plan: judge_plan(world, plan).score)
    account = _Account(Way.ON_PROMISE, seed, tried)
    kept = _judged(storm, world, Way.ON_PROMISE, found, account)
    return _with_overtime(storm, kept, account) or kept


def _with_overtime(storm: Storm, kept: WayOut | NoWay, account: _Account) -> WayOut | None:
    """Ask for optional days besides, if promises are missed by less with them."""
    if isinstance(kept, NoWay):
        return None
    asked = plan_overtime(storm.world, kept.result, partial(build_quickly, seed=account.seed))
    if asked is None:
        return None
    found = _judged(storm, asked.world, Way.ON_PROMISE, asked.result.plan, account)
    return replace(found, savings=asked.savings) if isinstance(found, WayOut) else None


def _quick(world: World, old: Mapping[str, Placement], stop: Stop, seed: int) -> Iterator[Plan]:
    yield in_old_order(world, old)
    try:
        yield build_plan(world, seed=seed, stop=stop).plan
    except NoPlan:
        return


def _judged(storm: Storm, world: World, way: Way, plan: Plan, account: _Account) -> WayOut | NoWay:
    """Let the judge pass a plan, and give it its account."""
    verdict = judge_plan(world, plan)
    if not verdict.sound:
        return NoWay(way, f"the plan found breaks a rule of its own ({verdict.breaches[0].kind})")
    ready = Ready(world)
    bound = lower_bound(ready, early_dates(ready))
    result = Result(
        plan=plan,
        score=verdict.score,
        bound=min(bound, verdict.score),
        status=Status.PROVEN if verdict.score.main == bound.main else Status.FOUND,
        seed=account.seed,
        rule=account.rule,
        tried=account.tried,
    )
    lines = six_lines(
        storm.world if way is Way.NO_OVERTIME else world,
        storm.before,
        storm.published,
        plan,
        last_lost=storm.last_lost,
        rented=storm.rented,
    )
    return WayOut(way, result, lines)
