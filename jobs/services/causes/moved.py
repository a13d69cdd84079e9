"""Keep, with each accepted plan, how far it moved every job's finish and what share each cause has."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from jobs import models
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.placing.repair import keep_places
from jobs.scheduling.storm.lost import Loss, lose
from jobs.scheduling.storm.moved import Step, split
from jobs.services.sky.skies import under_sky
from jobs.services.world.keep import placements_of
from jobs.services.world.losses import loss_of
from jobs.services.world.overtime import opened
from jobs.services.world.read_world import read_world

from .put import put

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date, datetime

    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import World
    from jobs.services.world.planning import Planning

PROGRESS = "progress"
PROGRESS_WHY = "work quicker or slower than planned, and other changes to the job"
UNDONE = "undone"


@dataclass(frozen=True, slots=True)
class Pending:
    """Causes said since the last plan was accepted, oldest first; rain and its drying apart."""

    cause: str
    why: str
    day: date
    losses: tuple[models.LostTime, ...] = ()
    change: models.Change | None = None


def pending_causes() -> list[Pending]:
    """Return what was said since the last plan was accepted, in date order."""
    lost = list(
        models.LostTime.objects.filter(plan=None, taken_back_at=None)
        .select_related("job", "crew", "activity")
        .order_by("first", "pk")
    )
    found = [Pending(row.cause, row.why, row.first, (row,)) for row in lost if row.dries_id is None]
    dried = {row.dries_id for row in lost if row.dries_id is not None}
    for rain in sorted(pk for pk in dried if pk is not None):
        rows = tuple(row for row in lost if row.dries_id == rain)
        found.append(Pending(models.Cause.DRY_OUT, "", min(r.first for r in rows), rows))
    changes = models.Change.objects.filter(plan=None).select_related("job")
    found += [Pending(row.cause, row.why, row.first, (), row) for row in changes]
    return sorted(found, key=lambda cause: (cause.day, cause.change is not None, cause.cause))


def note_moves(
    before: models.Plan | None, plan: models.Plan, *, now: datetime, undone: bool = False
) -> None:
    """Store how a plan just accepted moved each finish; call inside the accepting transaction.

    Whatever was said since the plan before is tied to this one.
    """
    causes = pending_causes()
    moved = _finishes(before), _finishes(plan)
    jobs = [pk for pk in moved[1] if pk in moved[0]]
    if before is not None and jobs and (causes or any(moved[0][j] != moved[1][j] for j in jobs)):
        steps = [] if undone else _steps(before, causes, now)
        _store(plan, jobs, moved, steps, undone=undone)
    models.LostTime.objects.filter(plan=None, taken_back_at=None).update(plan=plan)
    models.Change.objects.filter(plan=None).update(plan=plan)


def _finishes(plan: models.Plan | None) -> dict[int, date]:
    if plan is None:
        return {}
    return {
        row.job_id: row.finish.astimezone(ZoneInfo(row.job.zone)).date()
        for row in plan.jobs.select_related("job")
    }


def _store(
    plan: models.Plan,
    jobs: Sequence[int],
    moved: tuple[Mapping[int, date], Mapping[int, date]],
    steps: Sequence[tuple[str, str, Mapping[int, date]]],
    *,
    undone: bool,
) -> None:
    rows = []
    for pk in jobs:
        was, becomes = moved[0][pk], moved[1][pk]
        told = [Step(cause, why, ends.get(pk, was)) for cause, why, ends in steps]
        if undone:
            told = [Step(UNDONE, "the plan before it again", becomes)]
        shares = split(was, told, becomes)
        if shares:
            kept = [share._asdict() for share in shares]
            rows.append(
                models.FinishChange(plan=plan, job_id=pk, was=was, becomes=becomes, shares=kept)
            )
    models.FinishChange.objects.bulk_create(rows)


def _steps(
    before: models.Plan, causes: Sequence[Pending], now: datetime
) -> list[tuple[str, str, dict[int, date]]]:
    """Apply the causes one after the other, and mend the old plan after each."""
    with _all_taken_back(causes, now):
        planning, losses = under_sky(_before(before, now), now), list[Loss]()
        pending = {row.pk for cause in causes for row in cause.losses}
        axis = planning.world.axis
        losses += [
            loss_of(row, axis, list(planning.activities.values()))
            for row in models.LostTime.objects.filter(taken_back_at=None).exclude(pk__in=pending)
        ]
        ends = _mended(planning, losses, before)
        steps = [(PROGRESS, PROGRESS_WHY, ends)]
        for cause in causes:
            if cause.change is not None:
                put(cause.change, cause.change.after, now)
                planning = under_sky(_before(before, now), now)
            activities = list(planning.activities.values())
            losses += [loss_of(row, axis, activities) for row in cause.losses]
            ends = {**ends, **_mended(planning, losses, before)}
            steps.append((cause.cause, cause.why, ends))
    return steps


def _before(plan: models.Plan, now: datetime) -> Planning:
    """Read the world with the optional days an earlier plan counted on."""
    return opened(read_world(now), plan.overtime)


def _mended(planning: Planning, losses: Sequence[Loss], before: models.Plan) -> dict[int, date]:
    """Return each job's finish once the old plan is mended in a world; nothing where it cannot be."""
    world, old = lose(planning.dry, losses), placements_of(before, planning)
    try:
        placed = keep_places(world, old).placements
    except NoPlan:
        return {}
    return ends_of(planning, world, placed)


def ends_of(planning: Planning, world: World, placed: Mapping[str, Placement]) -> dict[int, date]:
    """Return the day on which each job is done, by the job's key."""
    ends: dict[str, int] = {}
    for name, at in placed.items():
        work = world.works[name]
        if work.counts:
            ends[work.job] = max(at.end, ends.get(work.job, at.end))
    return {
        planning.jobs[uid].pk: world.axes[planning.jobs[uid].zone].day(end)
        for uid, end in ends.items()
    }


@contextmanager
def _all_taken_back(causes: Sequence[Pending], now: datetime) -> Iterator[None]:
    """Let the tables stand as before all causes, only within this block."""
    with transaction.atomic():
        for cause in reversed(causes):
            if cause.change is not None:
                put(cause.change, cause.change.before, now)
        yield
        transaction.set_rollback(True)
