"""The one translator from a planner's result to tables, and back to placements."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import Max

from jobs import models
from jobs.scheduling.gap import gap_of
from jobs.scheduling.paths.network import critical_path
from jobs.scheduling.result import Placement
from jobs.scheduling.slots import SlotAxis, instant
from jobs.scheduling.untidy import untidy_of
from jobs.services.telling.errors import SaidBefore
from jobs.services.turns import take_turn

from .hands import hired_for
from .lacking import lacks_in
from .overtime import used_in
from .plan_rows import PlanWriter

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from jobs.scheduling.result import Result
    from jobs.scheduling.world import World

    from .planning import Planning


@dataclass(frozen=True, slots=True)
class Account:
    """What goes on a plan's own row besides the result."""

    now: datetime
    seconds: float
    by: str


@dataclass(frozen=True, slots=True)
class Described:
    """A result as rows, not stored yet."""

    plan: models.Plan
    rows: list[models.PlanRow]
    jobs: list[models.JobPlan]


def describe(planning: Planning, result: Result, account: Account) -> Described:
    """Return a result as rows: where each activity stands, how far it can slip, and why."""
    plan = models.Plan(
        number=0,
        world=planning.revision,
        made_at=account.now,
        by=account.by,
        status=result.status.value,
        method=result.rule,
        late=result.score.late,
        finish_sum=result.score.finish,
        late_bound=result.bound.late,
        gap=gap_of(planning.world, result.score, result.bound),
        seconds=account.seconds,
        seed=result.seed,
        keeps_day=None if result.keeps is None else _day(planning.world, result.keeps),
    )
    network = critical_path(planning.world, plan=result.plan)
    writer = PlanWriter(planning, plan, result.plan, network)
    rows = writer.rows()
    plan.lacks = lacks_in(planning, result.plan)
    plan.overtime = used_in(planning.overtime, rows)
    plan.untidy = _untidy(planning.world, result.plan.placements)
    if planning.world.published:
        plan.untidy_before = _untidy(planning.world, planning.world.published)
    return Described(plan, rows, writer.jobs())


def _day(world: World, number: int) -> date:
    axis = world.axis
    return axis.day(number * axis.per_day)


def _untidy(world: World, placed: Mapping[str, Placement]) -> dict[str, Any]:
    """What is untidy, counted, machines by their names."""
    found = untidy_of(world, placed)
    idle = {world.machines[name].name: days for name, days in found.idle}
    return {**found._asdict(), "idle": idle}


def newest_number() -> int:
    """Return the number of the plan that pages show, proposed before published; 0 where there is none."""
    states = (models.Plan.State.PROPOSED, models.Plan.State.PUBLISHED)
    numbers = models.Plan.objects.filter(state__in=states).values_list("number", flat=True)
    return numbers.order_by("-number").first() or 0


@transaction.atomic
def keep(told: Described, *, after: int | None = None) -> models.Plan:
    """Store a described result as a proposal; an older proposal is dropped.

    Parameters
    ----------
    after
        Number of the plan that whoever asks has before him; None for whichever.

    Raises
    ------
    SaidBefore
        If another was made meanwhile: pressed twice, one plan is made.
    """
    if after is not None:
        take_turn()
        if (newest := newest_number()) != after:
            raise SaidBefore(f"Plan {newest} was made since that page was opened")
    models.Plan.objects.filter(state=models.Plan.State.PROPOSED).update(
        state=models.Plan.State.DROPPED
    )
    last = models.Plan.objects.aggregate(last=Max("number"))["last"] or 0
    told.plan.number = last + 1
    told.plan.save()
    for row in told.rows:
        row.plan = told.plan
    for job in told.jobs:
        job.plan = told.plan
    models.PlanRow.objects.bulk_create(told.rows)
    models.JobPlan.objects.bulk_create(told.jobs)
    return told.plan


def placements_of(plan: models.Plan, planning: Planning) -> dict[str, Placement]:
    """Read a stored plan back as placements on the world's axes; machines that are gone are left out."""
    placements, machines = {}, planning.world.machines
    for row in plan.rows.select_related("activity__job", "crew"):
        if row.activity.uid in planning.activities:
            axis = planning.world.axes[row.activity.job.zone]
            placements[row.activity.uid] = Placement(
                start=_slot(axis, row.first, axis.from_instant(instant(row.start))),
                end=_slot(axis, row.last, axis.until_instant(instant(row.finish))),
                crew=row.crew.slug if row.crew else _nobody(row.activity.uid, planning.world),
                machines=tuple(
                    (kind, unit)
                    for kind, unit, _ in row.machines
                    if kind in machines and unit < len(machines[kind].open)
                ),
            )
    return placements


def _nobody(uid: str, world: World) -> str:
    """Whoever is hired for a work, where the world has somebody hired for it; nobody for outside work."""
    hired = hired_for(uid)
    return hired if hired in world.works[uid].crews else ""


def _slot(axis: SlotAxis, counted: int | None, otherwise: int) -> int:
    """Return a slot of an axis as it was counted; by the clock where it was not."""
    return otherwise if counted is None else counted - axis.first.toordinal() * axis.per_day
