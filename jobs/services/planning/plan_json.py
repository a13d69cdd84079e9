"""A plan as one JSON object: the contract of ``plan --json``. Times are ISO 8601 with their offset.

The odds of the finish are null for a plan that is not stored, and for a job whose finish hangs on a work that
nobody can do: nothing is said of it.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from jobs.services.planning.how_proven import how_proven
from jobs.services.telling.words import say
from jobs.services.world.lacking import nobody_of
from jobs.trade.work import Clock, Sentence

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs import models
    from jobs.scheduling.world import Tie, Work

    from .plan_jobs import Made

SLOT_HOURS = 2
MINUTES = 60


def plan_as_json(made: Made, odds: Mapping[str, models.Outlook] | None = None) -> dict[str, Any]:
    """Return a plan with its jobs, activities, links, holds and passages.

    Parameters
    ----------
    odds
        What has been said of this plan, by job; the odds of the finish are null without it.
    """
    result, world = made.result, made.planning.world
    rows = {row.activity.uid: row for row in made.told.rows}
    nobody = nobody_of(made.told.plan)
    return {
        "status": how_proven(made.told.plan),
        "bound": {"late": result.bound.late, "finish": result.bound.finish},
        "objective": {
            "late": result.score.late,
            "upset": result.score.upset,
            "finish": result.score.finish,
            "untidy": result.score.untidy,
        },
        "untidy": made.told.plan.untidy,
        "keeps_day": made.told.plan.keeps_day.isoformat() if made.told.plan.keeps_day else None,
        "seconds": round(made.seconds, 3),
        "seed": result.seed,
        "revision": made.planning.revision,
        "jobs": [_job(row, (odds or {}).get(row.job.uid)) for row in made.told.jobs],
        "activities": [
            _activity(row) | {"nobody": row.activity.uid in nobody.uids} for row in made.told.rows
        ],
        "links": [_link(tie) for tie in world.ties],
        "holds": [
            hold for work in world.works.values() for hold in _holds(made, work, rows[work.id])
        ],
        "passages": [
            use for work in world.works.values() for use in _uses(made, work, rows[work.id])
        ],
    }


def _iso(moment: datetime, job: models.Job) -> str:
    return moment.astimezone(ZoneInfo(job.zone)).isoformat()


def _job(planned: models.JobPlan, said: models.Outlook | None) -> dict[str, Any]:
    job = planned.job
    return {
        "slug": job.slug,
        "name": job.name,
        "start": _iso(planned.start, job),
        "finish": _iso(planned.finish, job),
        "p50": _iso(said.p50, job) if said else None,
        "p80": _iso(said.p80, job) if said else None,
        "promise": job.promised_on.isoformat() if job.promised_on else None,
        "float_hours": planned.float_hours,
        "chain": planned.chain,
    }


def _activity(row: models.PlanRow) -> dict[str, Any]:
    activity = row.activity
    job = activity.job
    return {
        "id": activity.uid,
        "job": job.slug,
        "name": activity.name,
        "template": activity.template,
        "zone": activity.zone.slug if activity.zone else None,
        "start": _iso(row.start, job),
        "finish": _iso(row.finish, job),
        "segments": [{"start": start, "finish": finish} for start, finish, _ in row.segments],
        "crew": row.crew.slug if row.crew else None,
        "people": row.people,
        "machines": list(row.own_machines),
        "wait_until": _iso(row.wait_until, job) if row.wait_until else None,
        "early_start": _iso(row.early_start, job),
        "late_finish": _iso(row.late_finish, job),
        "float_hours": row.float_hours,
        "critical": row.critical,
        "done_share": activity.done_share / 100,
        "why": [say(Sentence(key, values)) for key, values in row.why],
    }


def _link(tie: Tie) -> dict[str, Any]:
    return {
        "from": tie.before,
        "to": tie.after,
        "relation": tie.relation.value,
        "wait_hours": _hours(tie.lag.amount, tie.lag.clock),
        "clock": tie.lag.clock.value,
        "at_most_hours": tie.lag.at_most / MINUTES if tie.lag.at_most is not None else None,
        "rule": tie.rule,
    }


def _hours(amount: int, clock: Clock) -> float:
    """Elapsed hours, working hours, or 24 for each business day."""
    if clock is Clock.ELAPSED:
        return amount / MINUTES
    return amount * (SLOT_HOURS if clock is Clock.WORK else 24)


def _holds(made: Made, work: Work, row: models.PlanRow) -> list[dict[str, Any]]:
    world, job = made.planning.world, row.activity.job
    return [
        {
            "zone": world.places[keepout.place].name,
            "from": _iso(row.finish, job),
            "to": _iso(row.finish.astimezone(UTC) + timedelta(minutes=keepout.minutes), job),
            "exempt": sorted(keepout.exempt),
        }
        for keepout in work.keepouts
    ]


def _uses(made: Made, work: Work, row: models.PlanRow) -> list[dict[str, Any]]:
    places: Mapping[str, Any] = made.planning.world.places
    return [
        {"name": places[name].name, "from": start, "to": finish, "share": share / 100}
        for name, share in work.hauls.items()
        for start, finish, _ in row.segments
    ]
