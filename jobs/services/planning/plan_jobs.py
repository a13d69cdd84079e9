"""Plan all open jobs together: read the world, build or level, judge, keep as a proposal."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from time import perf_counter
from typing import TYPE_CHECKING

from jobs import models
from jobs.scheduling.asking.overtime import plan_overtime
from jobs.scheduling.errors import NoPlan, SchedulingError
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.result import Plan
from jobs.scheduling.search.dispatch import build_plan, build_quickly
from jobs.services.sky.weather_windows import with_weather
from jobs.services.world.keep import Account, Described, describe, keep, placements_of
from jobs.services.world.overtime import opened, told_of
from jobs.services.world.read_world import read_world

from .conflicts import explained
from .solve_world import solve_world

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from jobs.scheduling.result import Result
    from jobs.services.world.planning import Planning

    from .solve_world import Limits, Watch


@dataclass(frozen=True, slots=True)
class Made:
    """What planning gave: the result with its world, told as rows, and the plan if it was kept."""

    planning: Planning
    result: Result
    seconds: float
    told: Described
    plan: models.Plan | None


def plan_jobs(
    *,
    now: datetime,
    by: str,
    seed: int = 0,
    store: bool = True,
    limits: Limits | None = None,
    after: int | None = None,
) -> Made:
    """Plan all open jobs and, unless ``store`` is False, store the proposal.

    Parameters
    ----------
    limits
        What levelling may spend; None for the quick builder alone.
    after
        Number of the plan that whoever asks has before him; None for whichever.

    Raises
    ------
    SchedulingError
        If no plan keeps every link, or there is nothing to plan; with reason and remedy.
    SaidBefore
        If another plan was made since the one he has before him.
    """
    made = find_plan(now=now, by=by, seed=seed, limits=limits)
    kept = keep(made.told, after=after) if store else None
    return replace(made, plan=kept)


def find_plan(
    *,
    now: datetime,
    by: str,
    seed: int = 0,
    limits: Limits | None = None,
    watch: Callable[[Watch | None], bool] | None = None,
) -> Made:
    """Plan all open jobs and store nothing; ``watch`` sees levelling go on and may stop it."""
    began = perf_counter()
    dry = read_world(now)
    if not dry.world.works:
        raise SchedulingError(
            "There is nothing to plan", remedy="add a job with something to build in it"
        )
    dry = _told(opened(dry, []))
    planning = with_weather(dry, now)
    try:
        result = _solved(planning, limits, seed, watch)
    except NoPlan:
        # Between weather and an at-most nothing may fit: better a plan at odds with the forecast.
        planning, result = dry, _solved_or_explained(dry, limits, seed, watch)
    planning, result = _with_overtime(planning, result, limits, seed, watch)
    _check(planning, result)
    seconds = perf_counter() - began
    return Made(
        planning, result, seconds, describe(planning, result, Account(now, seconds, by)), None
    )


def _solved(
    planning: Planning,
    limits: Limits | None,
    seed: int,
    watch: Callable[[Watch | None], bool] | None,
) -> Result:
    """Plan by the quick builder, or with levelling from the plan that stands."""
    if limits is None:
        return build_plan(planning.world, seed=seed)
    start = _standing(planning)
    return solve_world(planning.world, limits, seed=seed, start=start, watch=watch)


def _with_overtime(
    planning: Planning,
    result: Result,
    limits: Limits | None,
    seed: int,
    watch: Callable[[Watch | None], bool] | None,
) -> tuple[Planning, Result]:
    """Ask for optional days where promises are missed without them, if that helps."""
    found = plan_overtime(planning.world, result, partial(build_quickly, seed=seed))
    if found is None:
        return planning, result
    asked = opened(planning, told_of(found.savings, planning.world))
    better = found.result if limits is None else _solved(asked, limits, seed, watch)
    return (asked, better) if better.score.late < result.score.late else (planning, result)


def _solved_or_explained(
    planning: Planning,
    limits: Limits | None,
    seed: int,
    watch: Callable[[Watch | None], bool] | None,
) -> Result:
    """The same; where there is no plan, the error names the wishes that stand against each other."""
    try:
        return _solved(planning, limits, seed, watch)
    except NoPlan as error:
        raise explained(planning.world, error) from error


def _told(planning: Planning) -> Planning:
    """Return the same with what stands on phones: a plan that changes it must be worth it."""
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if plan is None:
        return planning
    world = replace(planning.world, published=placements_of(plan, planning))
    return replace(planning, world=world)


def _standing(planning: Planning) -> Plan | None:
    """Return the proposal, if there is one, to begin with besides what is published."""
    plan = models.Plan.objects.filter(state=models.Plan.State.PROPOSED).first()
    return None if plan is None else Plan(placements_of(plan, planning))


def _check(planning: Planning, result: Result) -> None:
    """Refuse a plan that the judge finds fault with."""
    verdict = judge_plan(planning.world, result.plan)
    if not verdict.sound or verdict.score != result.score:
        kind = verdict.breaches[0].kind if verdict.breaches else "score"
        raise SchedulingError(
            f"The plan made breaks a rule of its own ({kind})",
            remedy="nothing was kept; report this with the job file",
            culprits=verdict.breaches[0].works if verdict.breaches else (),
        )
