"""The outlook of jobs: run the accepted plan through many futures, say the odds, keep what was said."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from time import perf_counter
from typing import TYPE_CHECKING, Any

from django.db import transaction

from jobs import models
from jobs.scheduling.dice import Dice
from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.result import Plan
from jobs.scheduling.risk.delays import split_delay
from jobs.scheduling.risk.futures import run_futures
from jobs.services.world.keep import placements_of
from jobs.services.world.read_world import read_world
from jobs.trade.stages import FINISH, STAGES

from .hazards import read_hazards
from .weather_windows import with_weather

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime, timedelta

    from jobs.scheduling.risk.account import Eater, Futures, Odds, Stage
    from jobs.scheduling.risk.delays import Delay
    from jobs.services.world.read_world import Planning

    from .climate import LocalClimate

RUNS = 2000
SPLIT = 5
"""One of so many futures is enough to tell what delays."""
DAY_SECONDS = 86_400
MOST_RISKS = 8
MOST_STAGE_RISKS = 3
ORDER = (*STAGES, FINISH)
LEAST_SHOWN = 0.001


@dataclass(frozen=True, slots=True)
class Said:
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
) -> Said:
    """Run a plan through many futures: the published one, or else the newest proposal, unless told which.

    Raises
    ------
    SchedulingError
        If there is no plan, or it does not place every activity there is now.
    """
    began = perf_counter()
    plan = plan or live_plan()
    planning = with_weather(read_world(now), now)
    placed = _placed(plan, planning)
    hazards, climates, reach = read_hazards(planning, now)
    futures = run_futures(
        planning.world,
        placed,
        weather=hazards,
        runs=runs,
        dice=Dice(seed),
        stages=stages_in(planning),
    )
    delays = split_delay(
        planning.world,
        placed,
        weather=hazards,
        runs=max(1, runs // SPLIT),
        dice=Dice(seed),
        whole=futures,
    )
    teller = _Teller(planning, futures, climates, reach, delays)
    outlooks = [
        models.Outlook(
            job=planning.jobs[uid],
            plan=plan,
            said_at=now,
            runs=runs,
            seed=seed,
            planned=odds.planned,
            p50=odds.p50,
            p80=odds.p80,
            p90=odds.p90,
            promise_odds=odds.kept,
            milestones=teller.milestones(uid),
            buffers=teller.buffers(uid),
            risks=teller.risks(uid),
            basis=teller.basis(uid),
        )
        for uid, odds in futures.jobs.items()
    ]
    if store:
        with transaction.atomic():
            models.Outlook.objects.bulk_create(outlooks)
    return Said(tuple(outlooks), runs, seed, perf_counter() - began)


def say_first_outlook(now: datetime) -> bool:
    """Say the odds of the published plan unless they have been said; return True if they were now."""
    plan = live_plan()
    if models.Outlook.objects.filter(plan=plan).exists():
        return False
    say_outlook(now=now)
    return True


def say_daily_outlook(now: datetime) -> bool:
    """Say the odds of the published plan where none were said today; return True if they were now.

    Days that passed and a new forecast take from the buffers, or add to them.
    """
    midnight = now.replace(hour=0, minute=0, second=0, microsecond=0)
    if models.Outlook.objects.filter(plan=live_plan(), said_at__gte=midnight).exists():
        return False
    say_outlook(now=now)
    return True


def said_of_plan(plan: models.Plan | None) -> dict[str, models.Outlook]:
    """Return what was said last of each job in a plan, by the job's uid."""
    said = models.Outlook.objects.filter(plan=plan).select_related("job") if plan else []
    return {outlook.job.uid: outlook for outlook in reversed(list(said))}


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


@dataclass(frozen=True, slots=True)
class _Teller:
    """Turns futures into the lists that pages read."""

    planning: Planning
    futures: Futures
    climates: Mapping[str, LocalClimate]
    reach: Mapping[str, int]
    delays: Mapping[str, Delay]

    def milestones(self, job: str) -> list[dict[str, Any]]:
        """Odds of each milestone of a job, in planned order."""
        rows = [
            {
                "id": uid,
                "name": activity.detail["milestone"],
                "zone": activity.zone.name if activity.zone else "",
                **_dates(self.futures.works[uid]),
                "buffer_days": days(self.futures.works[uid].buffer),
            }
            for uid, activity in self.planning.activities.items()
            if activity.detail.get("milestone") and self.planning.world.works[uid].job == job
        ]
        return sorted(rows, key=lambda row: (row["planned"], row["id"]))

    def buffers(self, job: str) -> list[dict[str, Any]]:
        """Days of buffer each stage adds to those before it, and what eats the whole of it."""
        so_far, stages = 0.0, []
        for name in ORDER:
            stage = self.futures.stages.get((job, name))
            if stage is not None:
                whole = days(stage.odds.buffer)
                added = max(0.0, whole - so_far)
                so_far = max(so_far, whole)
                stages.append(self._stage(name, stage) | {"days": round(added, 1), "whole": whole})
        return stages

    def _stage(self, name: str, stage: Stage) -> dict[str, Any]:
        odds = stage.odds
        return {
            "stage": name,
            "until": odds.planned.isoformat(),
            "p50": odds.p50.isoformat(),
            "p80": odds.p80.isoformat(),
            "risks": [
                {
                    "id": eater.work,
                    "name": self.planning.activities[eater.work].name,
                    "days": eater.days,
                }
                for eater in stage.eaters[:MOST_STAGE_RISKS]
            ],
        }

    def risks(self, job: str) -> list[dict[str, Any]]:
        """The works that eat most of the buffer, with the days they eat on average."""
        return [self._risk(eater) for eater in self.futures.eaters[job][:MOST_RISKS]]

    def _risk(self, eater: Eater) -> dict[str, Any]:
        activity = self.planning.activities[eater.work]
        causes = self.futures.causes.get(eater.work, {})
        return {
            "id": eater.work,
            "job": self.planning.world.works[eater.work].job,
            "name": activity.name,
            "days": eater.days,
            "lost": {str(measure): round(share, 3) for measure, share in causes.items()},
        }

    def basis(self, job: str) -> dict[str, Any]:
        """What the odds were made from, and the share of day slots lost by each measure."""
        odds = self.futures.jobs[job]
        made: dict[str, Any] = {
            "lost": self._lost(job),
            "beyond": round(odds.beyond, 4),
            "delay": {part: days(length) for part, length in self.delays[job]._asdict().items()},
            "held_at": self._held_at(job),
        }
        climate = self.climates.get(job)
        if climate is None:
            return made | {"place": None}
        near = climate.near
        return made | {
            "place": near.climate.label,
            "km": round(near.km),
            "far": near.far,
            "chosen": climate.chosen,
            "record": climate.record,
            "years_differ": round(climate.rain.spread, 3),
            "forecast_days": self.reach.get(job, 0),
        }

    def _held_at(self, job: str) -> str:
        """Return the other yard whose works eat most of a job's days; empty if none does."""
        eaten: dict[str, float] = defaultdict(float)
        for eater in self.futures.eaters[job]:
            at = self.planning.world.works[eater.work].job
            if at != job:
                eaten[at] += eater.days
        worst = max(eaten, key=lambda at: (eaten[at], at), default="")
        return self.planning.jobs[worst].name if worst else ""

    def _lost(self, job: str) -> dict[str, float]:
        """Mean over the outdoor works of a job."""
        works = [
            self.futures.causes[work.id]
            for work in self.planning.world.works.values()
            if work.job == job and work.id in self.futures.causes
        ]
        sums: dict[str, float] = defaultdict(float)
        for causes in works:
            for measure, share in causes.items():
                sums[str(measure)] += share / len(works)
        return {m: round(share, 3) for m, share in sorted(sums.items()) if share >= LEAST_SHOWN}


def _dates(odds: Odds) -> dict[str, str]:
    return {
        "planned": odds.planned.isoformat(),
        "p50": odds.p50.isoformat(),
        "p80": odds.p80.isoformat(),
        "p90": odds.p90.isoformat(),
    }


def days(length: timedelta) -> float:
    """Return a length in days, to a tenth."""
    return round(length.total_seconds() / DAY_SECONDS, 1)
