"""Reads what may be promised of a job: its day at even odds, its safe day, and whether its promise is too soon."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jobs.services.telling.speech import say_day
from jobs.services.world.lacking import unsure_of

from .frame import local, said_of
from .nobody import no_safe_day

if TYPE_CHECKING:
    from jobs import models

UNSAID = "once planned, the odds name a day kept 8 times in 10"


class Advice(NamedTuple):
    """What to promise, in words; ``early`` if what is promised lies before even odds."""

    words: str
    early: bool


def promise_advice(job: models.Job, plan: models.Plan | None) -> Advice:
    """Return what the odds of the plan shown say of a promise, in one query."""
    hangs = unsure_of(plan).get(job.uid)
    if hangs:
        return Advice(no_safe_day(hangs), early=job.promised_on is not None)
    said = said_of(job, plan)
    if said is None:
        return Advice(UNSAID, early=False)
    likely, safe = local(said.p50, job).date(), local(said.p80, job).date()
    days = (
        f"safe to promise is {say_day(safe)}, kept 8 times in 10; even odds are {say_day(likely)}"
    )
    if job.promised_on is not None and job.promised_on < likely:
        return Advice(f"sooner than even odds, so broken more often than kept: {days}", early=True)
    return Advice(days, early=False)
