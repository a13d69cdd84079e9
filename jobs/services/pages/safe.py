"""Reads what is safe to promise: the odds of the plan in hand, also before anything is published."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.scheduling.errors import SchedulingError
from jobs.services.sky.outlook import odds_of_plan
from jobs.services.world.lacking import unsure_of

from .frame import local
from .nobody import no_safe_day
from .odds import kept_of

if TYPE_CHECKING:
    from datetime import date, datetime


class SafeRow(NamedTuple):
    """One job: when it is planned to end, when it likely does, and what to promise."""

    job: str
    slug: str
    planned: date
    likely: date
    safe: date
    promised: date | None
    kept: str
    placed: bool


class HeldRow(NamedTuple):
    """One job of which nothing is safe to promise, and why."""

    job: str
    slug: str
    why: str


@dataclass(frozen=True, slots=True)
class SafePage:
    """All jobs of a plan, or the reason why nothing can be said of it."""

    plan: models.Plan | None
    rows: tuple[SafeRow, ...] = ()
    reason: str = ""
    held: tuple[HeldRow, ...] = ()


def read_safe(now: datetime) -> SafePage:
    """Read the odds of the proposal, or else of the published plan; said now where they were not yet."""
    plans = models.Plan.objects.filter(state__in=("proposed", "published"))
    plan = plans.order_by("-number").first()
    if plan is None:
        return SafePage(None)
    try:
        said = odds_of_plan(plan, now)
    except SchedulingError as error:
        return SafePage(plan, reason=f"{error}")
    rows = [_row(one) for one in said.values() if one.job.state in models.Job.OPEN]
    return SafePage(plan, tuple(sorted(rows, key=lambda row: row.planned)), held=_held(plan))


def _held(plan: models.Plan) -> tuple[HeldRow, ...]:
    hangs = unsure_of(plan)
    jobs = models.Job.objects.filter(uid__in=hangs).order_by("name") if hangs else ()
    return tuple(HeldRow(job.name, job.slug, no_safe_day(hangs[job.uid])) for job in jobs)


def _row(said: models.Outlook) -> SafeRow:
    job = said.job
    planned, likely, safe = (local(at, job).date() for at in (said.planned, said.p50, said.p80))
    kept, placed = kept_of(said), bool(said.basis.get("place"))
    return SafeRow(job.name, job.slug, planned, likely, safe, job.promised_on, kept, placed)
