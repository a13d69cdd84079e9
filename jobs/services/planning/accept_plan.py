"""Accept a proposed plan: one transaction, and only if the world is still the one planned for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from jobs import models
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.result import Plan
from jobs.services.calendar.publish import publish_plan
from jobs.services.causes.moved import note_moves
from jobs.services.history import record
from jobs.services.sky.weather_windows import with_weather
from jobs.services.turns import take_turn
from jobs.services.world.keep import placements_of
from jobs.services.world.overtime import opened
from jobs.services.world.read_world import read_world

from .tickets import write_notices

if TYPE_CHECKING:
    from datetime import datetime

    from crews.services.events import Published
    from jobs.services.world.planning import Planning


class PlanRefusedError(Exception):
    """Why a plan may not be published, and what to do."""

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(reason, remedy)
        self.reason, self.remedy = reason, remedy

    def __str__(self) -> str:
        """One line."""
        return f"{self.reason}; {self.remedy}"


@dataclass(frozen=True, slots=True)
class Accepted:
    """The plan now published, and what changed on phones."""

    plan: models.Plan
    published: tuple[Published, ...]


def _stands(plan: models.Plan, planning: Planning, now: datetime) -> bool:
    """Return True if the judge finds nothing wrong, by the forecast of now or by none.

    A plan made round wet slots takes longer than the calendar alone says; one made by hand or in a
    hurry may not know the forecast at all.
    """
    placed = Plan(placements_of(plan, planning))
    worlds = (with_weather(planning, now).world, planning.world)
    return any(judge_plan(world, placed).sound for world in worlds)


@transaction.atomic
def accept_plan(plan: models.Plan, *, by: str, now: datetime, undone: bool = False) -> Accepted:
    """Publish a proposal: plan, calendar events, why dates moved and history, or nothing.

    Parameters
    ----------
    undone
        True if the plan brings an earlier one back: the dates move because of that.

    Raises
    ------
    PlanRefusedError
        If the plan is no proposal, the world has changed since, or the judge finds a breach.
    """
    take_turn()
    plan = models.Plan.objects.select_for_update().get(pk=plan.pk)
    if plan.state != models.Plan.State.PROPOSED:
        raise PlanRefusedError(f"Plan {plan.number} is {plan.state}", "make a new plan")
    planning = opened(read_world(now), plan.overtime)
    if planning.revision != plan.world:
        raise PlanRefusedError(
            f"Something has changed since plan {plan.number} was made",
            "plan again and look at what moves",
        )
    if not _stands(plan, planning, now):
        raise PlanRefusedError(
            f"Plan {plan.number} no longer fits the calendar", "plan again and look at what moves"
        )
    before = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).update(
        state=models.Plan.State.SUPERSEDED
    )
    plan.state, plan.published_at, plan.by = models.Plan.State.PUBLISHED, now, by
    plan.save(update_fields=["state", "published_at", "by", "modified"])
    published = publish_plan(plan, now=now)
    write_notices(plan)
    note_moves(before, plan, now=now, undone=undone)
    record("plan published", by=by, at=now, before=before and before.number, after=plan.number)
    return Accepted(plan, published)
