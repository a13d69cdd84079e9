"""*On promise*: finishes first, whoever has to change; optional days are asked for where they help."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from jobs.scheduling.asking.overtime import plan_overtime
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.placing.repair import Mender, in_old_order
from jobs.scheduling.search.dispatch import build_plan, build_quickly
from jobs.scheduling.search.search import Search

from .judged import Account, judged
from .ways_out import NoWay, Way, WayOut

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.result import Placement, Plan, Stop
    from jobs.scheduling.world import World

    from .ways_out import Storm


def on_promise(storm: Storm, budget: Budget, seed: int) -> WayOut | NoWay:
    """Return the best of quick plans, or one that a search finds to finish sooner."""
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
    account = Account(Way.ON_PROMISE, seed, tried)
    kept = judged(storm, world, Way.ON_PROMISE, found, account)
    return _with_overtime(storm, kept, account) or kept


def _with_overtime(storm: Storm, kept: WayOut | NoWay, account: Account) -> WayOut | None:
    """Ask for optional days besides, if promises are missed by less with them."""
    if isinstance(kept, NoWay):
        return None
    asked = plan_overtime(storm.world, kept.result, partial(build_quickly, seed=account.seed))
    if asked is None:
        return None
    found = judged(storm, asked.world, Way.ON_PROMISE, asked.result.plan, account)
    return replace(found, savings=asked.savings) if isinstance(found, WayOut) else None


def _quick(world: World, old: Mapping[str, Placement], stop: Stop, seed: int) -> Iterator[Plan]:
    yield in_old_order(world, old)
    try:
        yield build_plan(world, seed=seed, stop=stop).plan
    except NoPlan:
        return
