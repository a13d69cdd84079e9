"""Promise the finish of a job by a plan in hand, without making that plan old."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from jobs import models
from jobs.services.scope.yard import promise_first
from jobs.services.turns import take_turn
from jobs.services.world.overtime import opened
from jobs.services.world.read_world import read_world

if TYPE_CHECKING:
    from datetime import date, datetime

    from jobs.services.history import Who


@transaction.atomic
def promise_by(plan: models.Plan, job: models.Job, day: date, who: Who) -> bool:
    """Keep a first promise; True if the plan is a proposal that can still be published as it is.

    A proposal that knew everything but the promise, and ends no later, is what would be planned by it, too: it is
    made to know it.

    Raises
    ------
    TakenError
        If something is promised already.
    """
    take_turn()
    plan = models.Plan.objects.select_for_update().get(pk=plan.pk)
    proposed = plan.state == models.Plan.State.PROPOSED
    known = proposed and _world_of(plan, who.now) == plan.world
    promise_first(job, day, who)
    if not known or day < _end(plan, job):
        return False
    plan.world = _world_of(plan, who.now)
    plan.save(update_fields=["world", "modified"])
    return True


def _world_of(plan: models.Plan, now: datetime) -> str:
    return opened(read_world(now), plan.overtime).revision


def _end(plan: models.Plan, job: models.Job) -> date:
    return plan.jobs.get(job=job).finish.astimezone(ZoneInfo(job.zone)).date()
