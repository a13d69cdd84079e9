"""Reads the list of jobs: where each stands, what is next, and how its promise stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.services.telling.speech import say_day
from jobs.services.world.lacking import nobody_of

from .frame import how_it_stands, local, shown_plan

if TYPE_CHECKING:
    from datetime import date, datetime

    from jobs.services.world.lacking import Nobody


class JobRow(NamedTuple):
    """One job in the list."""

    slug: str
    name: str
    address: str
    state: str
    running: str
    upcoming: str
    finish: date | None
    promise: date | None
    promise_words: str
    at_risk: bool
    done: int


@dataclass(frozen=True, slots=True)
class JobsPage:
    """The jobs, and the plan they are shown by."""

    rows: tuple[JobRow, ...]
    plan: models.Plan | None


def read_jobs(now: datetime) -> JobsPage:
    """Read every job that is not closed, in a bounded number of queries."""
    plan = shown_plan()
    jobs = list(models.Job.objects.exclude(state=models.Job.State.CLOSED))
    planned = {row.job_id: row for row in plan.jobs.select_related("job")} if plan else {}
    rows: dict[int, list[models.PlanRow]] = {job.pk: [] for job in jobs}
    if plan:
        for row in plan.rows.filter(crew__isnull=False).select_related("activity", "crew"):
            rows.setdefault(row.activity.job_id, []).append(row)
    nobody = nobody_of(plan)
    return JobsPage(
        tuple(_row(job, planned.get(job.pk), rows[job.pk], nobody, now) for job in jobs), plan
    )


def _row(
    job: models.Job,
    planned: models.JobPlan | None,
    rows: list[models.PlanRow],
    nobody: Nobody,
    now: datetime,
) -> JobRow:
    running = [r for r in rows if r.start <= now < r.finish and not r.activity.finished_at]
    later = [r for r in rows if r.start > now and not r.activity.finished_at]
    days = sum(r.activity.days for r in rows)
    done = sum(r.activity.days for r in rows if r.activity.finished_at)
    words, at_risk = how_it_stands(planned, job, nobody)
    return JobRow(
        slug=job.slug,
        name=job.name,
        address=job.address,
        state=job.get_state_display(),
        running=", ".join(r.activity.name for r in running),
        upcoming=_next(later[0], job) if later else "",
        finish=local(planned.finish, job).date() if planned else None,
        promise=job.promised_on,
        promise_words=words,
        at_risk=at_risk,
        done=int(done * 100 / days) if days else 0,
    )


def _next(row: models.PlanRow, job: models.Job) -> str:
    return f"{row.activity.name}, {say_day(local(row.start, job).date())}"
