"""Reads why a job is not done sooner: what holds its finish most, and what would next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.reasons.finish_reasons import why_not_done_sooner
from jobs.services.planning.health import Checkup
from jobs.services.telling.speech import say_day
from jobs.services.telling.words import say

from .frame import JobHead, job_head, shown_plan

if TYPE_CHECKING:
    from datetime import datetime

    from jobs import models


class Held(NamedTuple):
    """What holds a finish: the sentence, the work it is about, and what the finish would be without."""

    words: str
    slug: str
    uid: str
    without: str


@dataclass(frozen=True, slots=True)
class FinishPage:
    """What holds the finish of a job; ``reason`` says why that cannot be told."""

    head: JobHead
    held: tuple[Held, ...] = ()
    reason: str = ""


def read_finish(job: models.Job, now: datetime) -> FinishPage:
    """Read what holds a finish, by the plan that is shown."""
    plan = shown_plan()
    head = job_head(job, "sheet", plan)
    try:
        checkup = Checkup(plan, now)
    except SchedulingError as error:
        return FinishPage(head, reason=str(error))
    world, axis = checkup.planning.world, checkup.planning.world.axes[job.zone]
    held = []
    for found in why_not_done_sooner(world, checkup.sound, job.uid):
        slug = checkup.planning.jobs[world.works[found.work].job].slug
        without = _without(found.days, say_day(axis.day(found.finish)))
        held.append(Held(say(found.sentence), slug, found.work, without))
    return FinishPage(head, tuple(held))


def _without(days: float, day: str) -> str:
    """Say what a finish would be: ``done Tue 16 Jun, 5 working days sooner``."""
    whole = round(days)
    if whole < 1:
        return f"done {day}, a few hours sooner"
    return f"done {day}, {whole} working day{'' if whole == 1 else 's'} sooner"
