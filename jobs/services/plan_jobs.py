"""Plan all open jobs together: read the world, build, judge, keep as a proposal."""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter
from typing import TYPE_CHECKING

from jobs.scheduling.dispatch import build_plan
from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.judge import judge_plan

from .keep import Account, Described, describe, keep
from .world import read_world

if TYPE_CHECKING:
    from datetime import datetime

    from jobs import models
    from jobs.scheduling.result import Result

    from .world import Planning


@dataclass(frozen=True, slots=True)
class Made:
    """What planning gave: the result with its world, told as rows, and the plan if it was kept."""

    planning: Planning
    result: Result
    seconds: float
    told: Described
    plan: models.Plan | None


def plan_jobs(*, now: datetime, by: str, seed: int = 0, store: bool = True) -> Made:
    """Plan all open jobs and, unless ``store`` is False, store the proposal.

    Raises
    ------
    SchedulingError
        If no plan keeps every link, or there is nothing to plan; with reason and remedy.
    """
    began = perf_counter()
    planning = read_world(now)
    if not planning.world.works:
        raise SchedulingError(
            "There is nothing to plan", remedy="add a job with something to build in it"
        )
    result = build_plan(planning.world, seed=seed)
    verdict = judge_plan(planning.world, result.plan)
    if not verdict.sound:
        first = verdict.breaches[0]
        raise SchedulingError(
            f"The plan made breaks a rule of its own ({first.kind})",
            remedy="nothing was kept; report this with the job file",
            culprits=first.works,
        )
    seconds = perf_counter() - began
    told = describe(planning, result, Account(now, seconds, by))
    return Made(planning, result, seconds, told, keep(told) if store else None)
