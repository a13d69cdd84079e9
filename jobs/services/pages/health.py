"""Reads how sound the plan is: each check in words, with what to mend and where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.health.check import Unit, Verdict
from jobs.scheduling.health.practices import practices
from jobs.services.planning.health import Checkup
from jobs.services.telling.words import say
from jobs.trade.work import Sentence

from .frame import JobHead, job_head, shown_plan

if TYPE_CHECKING:
    from datetime import datetime

    from jobs import models
    from jobs.scheduling.health.check import Check, Finding
    from jobs.scheduling.health.practices import Practice
    from jobs.services.planning.health import Health


class Mend(NamedTuple):
    """What to mend, and the activity it is about; without one it is about the job."""

    words: str
    job: str
    slug: str
    uid: str


class CheckRow(NamedTuple):
    """One check in words."""

    key: str
    title: str
    mean: str
    verdict: str
    fails: bool
    measured: str
    source: str
    mends: tuple[Mend, ...]


class PracticeRow(NamedTuple):
    """One of the ten practices in words, what keeps it, and what its checks say."""

    title: str
    kept: str
    stands: str
    fails: bool


@dataclass(frozen=True, slots=True)
class HealthPage:
    """All checks, those that fail first; ``reason`` says why there are none."""

    head: JobHead | None
    plan: models.Plan | None
    rows: tuple[CheckRow, ...] = ()
    failed: int = 0
    passed: int = 0
    practices: tuple[PracticeRow, ...] = ()
    reason: str = ""


def read_health(now: datetime, job: models.Job | None = None) -> HealthPage:
    """Check the plan that is shown, for all jobs or for one; a bounded number of queries."""
    plan = shown_plan()
    head = job_head(job, "health", plan) if job else None
    try:
        health = Checkup(plan, now).of(job)
    except SchedulingError as error:
        return HealthPage(head, plan, reason=str(error))
    rows = sorted((row_of(check, health) for check in health.checks), key=lambda r: not r.fails)
    verdicts = [check.verdict for check in health.checks]
    return HealthPage(
        head,
        plan,
        tuple(rows),
        verdicts.count(Verdict.FAILS),
        verdicts.count(Verdict.PASSES),
        tuple(map(_practice, practices(health.checks))),
    )


def _practice(one: Practice) -> PracticeRow:
    failing = [say(Sentence(f"health-title-{check.key}")).lower() for check in one.failing]
    if failing:
        stands = f"does not hold: {'; '.join(failing)}"
    else:
        stands = f"{one.measured} of its checks pass" if one.measured else ""
    return PracticeRow(
        say(Sentence(f"health-practice-{one.key}")),
        say(Sentence(f"health-kept-{one.key}")),
        stands,
        bool(failing),
    )


def row_of(check: Check, health: Health) -> CheckRow:
    """Say a check in words."""
    return CheckRow(
        key=check.key,
        title=say(Sentence(f"health-title-{check.key}")),
        mean=say(Sentence(f"health-mean-{check.key}")),
        verdict=check.verdict.value,
        fails=check.verdict is Verdict.FAILS,
        measured=measured(check),
        source=check.source,
        mends=tuple(mend_of(finding, health) for finding in check.findings),
    )


def measured(check: Check) -> str:
    """Say what was measured and what is allowed: ``4 of 60, 6.7 %; at most 5 %``."""
    if check.verdict is Verdict.NOTHING:
        return "nothing to measure yet"
    if check.unit is Unit.PERCENT and check.key == "kinds-of-links":
        return f"{check.value:.1f} % of {check.of} ties; at least {check.limit:g} %"
    if check.unit is Unit.PERCENT:
        found = len(check.findings)
        return f"{found} of {check.of}, {check.value:.1f} %; at most {check.limit:g} %"
    if check.unit is Unit.COUNT:
        allowed = "" if check.limit is None else "; none allowed"
        return f"{check.value:g}{allowed}"
    if check.unit is Unit.DAYS:
        return f"the finish moves by {check.value:g} of {check.limit:g} working days"
    return f"{check.value:.2f}; at least {check.limit:g}"


def mend_of(finding: Finding, health: Health) -> Mend:
    """Say what is to be mended, and where."""
    words = say(finding.sentence)
    planning = health.planning
    if not finding.work:
        job = planning.jobs[finding.job]
        return Mend(words, job.name, job.slug, "")
    activity = planning.activities[finding.work]
    job = planning.jobs[planning.world.works[finding.work].job]
    return Mend(words, job.name, job.slug, activity.uid)
