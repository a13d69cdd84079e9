"""Lets the judge pass the plan of a way out, and tells it on the six lines all ways share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Result, Status
from jobs.scheduling.search.bounds import lower_bound
from jobs.scheduling.upset import six_lines

from .ways_out import NoWay, Way, WayOut

if TYPE_CHECKING:
    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import World

    from .ways_out import Storm


@dataclass(frozen=True, slots=True)
class Account:
    """How a plan was come by: rule or way, seed, and how many plans were tried."""

    rule: str
    seed: int
    tried: int


def judged(storm: Storm, world: World, way: Way, plan: Plan, account: Account) -> WayOut | NoWay:
    """Return a plan that the judge has passed, with its account and six lines; its first breach where it is not sound."""
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
