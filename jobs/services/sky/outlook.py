"""The outlook of jobs: run the accepted plan through many futures, say the odds, keep what was said."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from time import perf_counter
from typing import TYPE_CHECKING

from django.db import transaction

from jobs import models
from jobs.scheduling.dice import Dice
from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.result import Plan
from jobs.scheduling.risk.delays import split_delay
from jobs.scheduling.risk.futures import run_futures
from jobs.services.world.keep import placements_of
from jobs.services.world.lacking import note_since, unsure_of
from jobs.services.world.read_world import read_world
from jobs.trade.stages import FINISH, STAGES

from .hazards import read_hazards
from .odds_told import OddsTeller
from .weather_windows import with_weather

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from jobs.scheduling.risk.account import Futures
    from jobs.scheduling.risk.delays import Delay
    from jobs.scheduling.risk.hazards import Hazards
    from jobs.services.world.planning import Planning

RUNS = 2000
SPLIT = 5
"""One of so many futures is enough to tell what delays."""


@dataclass(frozen=True, slots=True)
class Outlooks:
    """Outlooks of all planned jobs, stored or not, with how they were made."""

    outlooks: tuple[models.Outlook, ...]
    runs: int
    seed: int
    seconds: float


def say_outlook(
    *,
    now: datetime,
    runs: int = RUNS,
    seed: int = 0,
    store: bool = True,
    plan: models.Plan | None = None,
) -> Outlooks:
    """Run a plan through many futures: the published one, or else the newest proposal, unless told which.

    Nothing is said of a job whose finish hangs on a work that nobody can do: its odds would be those of
    finding somebody.

    Raises
    ------
    SchedulingError
        If there is no plan, or it does not place every activity there is now.
    """
    began = perf_counter()
    plan = plan or live_plan()
    planning = with_weather(read_world(now), now)
    placed = _placed(plan, planning)
    note_since(plan, planning, placed, store=store)
    hangs = unsure_of(plan)
    hazards, climates, reach = read_hazards(planning, now)
    futures, delays = _run(planning, placed, hazards, runs, seed)
    teller = OddsTeller(planning, futures, climates, reach, delays)
    outlooks = [
        models.Outlook(plan=plan, said_at=now, runs=runs, seed=seed, **teller.said(uid))
        for uid in futures.jobs
        if uid not in hangs
    ]
    if store:
        with transaction.atomic():
            models.Outlook.objects.bulk_create(outlooks)
    return Outlooks(tuple(outlooks), runs, seed, perf_counter() - began)


def _run(
    planning: Planning, placed: Plan, hazards: Hazards, runs: int, seed: int
) -> tuple[Futures, Mapping[str, Delay]]:
    """Walk all futures, and some of them again for what stands between each plan and its even odds."""
    world, stages = planning.world, stages_in(planning)
    futures = run_futures(world, placed, weather=hazards, runs=runs, dice=Dice(seed), stages=stages)
    some = max(1, runs // SPLIT)
    delays = split_delay(world, placed, weather=hazards, runs=some, dice=Dice(seed), whole=futures)
    return futures, delays


def say_first_outlook(now: datetime) -> bool:
    """Say the odds of the published plan unless they have been said; return True if they were now."""
    plan = live_plan()
    if models.Outlook.objects.filter(plan=plan).exists() or not _may_be_said(plan):
        return False
    say_outlook(now=now)
    return True


def say_daily_outlook(now: datetime) -> bool:
    """Say the odds of the published plan where none were said today; return True if they were now.

    Days that passed and a new forecast take from the buffers, or add to them.
    """
    midnight = now.replace(hour=0, minute=0, second=0, microsecond=0)
    plan = live_plan()
    said = models.Outlook.objects.filter(plan=plan, said_at__gte=midnight)
    if said.exists() or not _may_be_said(plan):
        return False
    say_outlook(now=now)
    return True


def said_of_plan(plan: models.Plan | None) -> dict[str, models.Outlook]:
    """Return what was said last of each job in a plan, by the job's uid; nothing of one that hangs on nobody since."""
    said = models.Outlook.objects.filter(plan=plan).select_related("job") if plan else []
    last = {outlook.job.uid: outlook for outlook in reversed(list(said))}
    hangs = unsure_of(plan)
    return {uid: outlook for uid, outlook in last.items() if uid not in hangs}


def odds_of_plan(plan: models.Plan, now: datetime) -> dict[str, models.Outlook]:
    """Return what was said of each job in a plan, by the job's uid; said anew where nothing was, or a promise came since.

    Raises
    ------
    SchedulingError
        As ``say_outlook``.
    """
    said = said_of_plan(plan)
    if not said and not _may_be_said(plan):
        return {}
    if not said or any(one.job.promised_on and one.promise_odds is None for one in said.values()):
        say_outlook(now=now, plan=plan)
        return said_of_plan(plan)
    return said


def _may_be_said(plan: models.Plan) -> bool:
    """Return False if the finish of every job of a plan hangs on somebody still to be hired."""
    hangs = unsure_of(plan)
    return not hangs or plan.jobs.exclude(job__uid__in=hangs).exists()


def note_hands(now: datetime) -> None:
    """Keep with the published plan what nobody can do any more, so that no odds are told of it; after crews changed."""
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if plan is None:
        return
    try:
        planning = read_world(now)
    except SchedulingError:
        return
    note_since(plan, planning, Plan(placements_of(plan, planning)))


def live_plan() -> models.Plan:
    """Return the published plan, else the newest proposal.

    Raises
    ------
    SchedulingError
        If there is none.
    """
    wanted = (models.Plan.State.PUBLISHED, models.Plan.State.PROPOSED)
    for state in wanted:
        plan = models.Plan.objects.filter(state=state).first()
        if plan is not None:
            return plan
    raise SchedulingError("There is no plan to look ahead with", remedy="plan the jobs first")


def _placed(plan: models.Plan, planning: Planning) -> Plan:
    placements = placements_of(plan, planning)
    left = [work for work in planning.world.works.values() if work.id not in placements]
    if left:
        raise SchedulingError(
            f"Plan {plan.number} knows nothing of {left[0].name}",
            remedy="plan again, then ask for the outlook",
            culprits=tuple(work.id for work in left),
        )
    return Plan(placements)


def stages_in(planning: Planning) -> dict[tuple[str, str], list[str]]:
    """Return the works of each stage of each job that is not over yet."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for work in planning.world.works.values():
        if work.counts:
            found[work.job, FINISH].append(work.id)
            for stage, templates in STAGES.items():
                if work.template in templates:
                    found[work.job, stage].append(work.id)
    works = planning.world.works
    return {
        key: ids
        for key, ids in found.items()
        if any((done := works[work].done) is None or done.end is None for work in ids)
    }
