"""Odds as pages read them: milestones, buffers of the stages, what eats them, and what all of it rests on."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from jobs.trade.stages import FINISH, STAGES

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import timedelta

    from jobs.scheduling.risk.account import Eater, Futures, Odds, Stage
    from jobs.scheduling.risk.delays import Delay
    from jobs.services.world.planning import Planning

    from .climate import LocalClimate

DAY_SECONDS = 86_400
MOST_RISKS = 8
MOST_STAGE_RISKS = 3
ORDER = (*STAGES, FINISH)
LEAST_SHOWN = 0.001


@dataclass(frozen=True, slots=True)
class OddsTeller:
    """Turns futures into the lists that pages read."""

    planning: Planning
    futures: Futures
    climates: Mapping[str, LocalClimate]
    reach: Mapping[str, int]
    delays: Mapping[str, Delay]

    def said(self, job: str) -> dict[str, Any]:
        """All that is said of a job, as columns of its outlook."""
        odds = self.futures.jobs[job]
        return {
            "job": self.planning.jobs[job],
            "planned": odds.planned,
            "p50": odds.p50,
            "p80": odds.p80,
            "p90": odds.p90,
            "promise_odds": odds.kept,
            "milestones": self.milestones(job),
            "buffers": self.buffers(job),
            "risks": self.risks(job),
            "basis": self.basis(job),
        }

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
