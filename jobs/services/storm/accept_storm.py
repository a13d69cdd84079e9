"""Accept a way out that was offered, or bring the earlier plan back: one transaction, or nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from django.db import transaction

from jobs import models
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Plan, Result, Score, Status
from jobs.scheduling.search.bounds import lower_bound
from jobs.scheduling.storm.replan import restore
from jobs.scheduling.storm.ways_out import NoWay, Storm
from jobs.services.causes.put import STANDS, put
from jobs.services.history import record
from jobs.services.planning.accept_plan import Accepted, PlanRefusedError, accept_plan
from jobs.services.sky.skies import under_sky
from jobs.services.turns import take_turn
from jobs.services.world.keep import Account, describe, keep, placements_of
from jobs.services.world.overtime import opened
from jobs.services.world.read_world import read_world

from .offer import from_minutes

if TYPE_CHECKING:
    from datetime import datetime

    from jobs.services.world.planning import Planning


@transaction.atomic
def accept_answer(row: models.Answer, *, by: str, now: datetime) -> Accepted:
    """Publish an offered way: plan, events, why dates moved and history, or nothing.

    Raises
    ------
    PlanRefusedError
        If the world or the published plan has changed since it was offered, or the judge objects.
    """
    if not row.placements:
        raise PlanRefusedError("This way gives no plan of its own", "choose another one")
    take_turn()
    published = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if published is None or published.pk != row.against_id:
        raise PlanRefusedError(
            "Another plan was accepted meanwhile", "ask for the ways out again and look at them"
        )
    planning = read_world(now)
    if planning.revision != row.world:
        raise PlanRefusedError(
            "Something has changed since this way out was found",
            "ask for the ways out again and look at them",
        )
    if asked := row.account.get("overtime"):
        planning = opened(planning, asked)
    plan = from_minutes(planning, row.placements)
    return _publish(planning, plan, row.way, (row.seconds, by, now))


def _publish(
    planning: Planning, plan: Plan, rule: str, account: tuple[float, str, datetime], **more: bool
) -> Accepted:
    seconds, by, now = account
    sky = under_sky(planning, now)
    verdict = judge_plan(sky.world, plan)
    if verdict.sound:
        planning = sky
    else:
        verdict = judge_plan(planning.world, plan)
    if not verdict.sound:
        raise PlanRefusedError(
            "This way out no longer fits the calendar", "ask for the ways out again"
        )
    result = _result(planning, plan, verdict.score, rule)
    kept = keep(describe(planning, result, Account(now, seconds, by)))
    return accept_plan(kept, by=by, now=now, **more)


def _result(planning: Planning, plan: Plan, score: Score, rule: str) -> Result:
    ready = Ready(planning.world)
    bound = min(lower_bound(ready, early_dates(ready)), score)
    status = Status.PROVEN if bound.main == score.main else Status.FOUND
    return Result(plan=plan, score=score, bound=bound, status=status, seed=0, rule=rule, tried=1)


@dataclass(frozen=True, slots=True)
class Undone:
    """The plan brought back, as a new one; what was taken back with it."""

    accepted: Accepted
    back_to: int
    taken_back: int


@transaction.atomic
def undo(*, by: str, now: datetime) -> Undone:
    """Publish the earlier plan again for unstarted work; what cannot stand there is moved into gaps.

    Time lost that was accepted with the plan undone and is not over yet is taken back, and what was
    said to be late or out stands as before. What was signed, failed or agreed stays said, and waits
    for a plan again.

    Raises
    ------
    PlanRefusedError
        If there is no earlier plan, or none that can be mended.
    """
    take_turn()
    published = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    earlier = earlier_plan()
    if published is None or earlier is None:
        raise PlanRefusedError("There is no earlier plan", "plan again instead")
    taken = _take_back(published, now)
    planning = opened(read_world(now), earlier.overtime)
    sky = under_sky(planning, now)
    storm = Storm(
        world=sky.world,
        before=sky.dry,
        published=placements_of(earlier, planning),
        last_lost=planning.world.now // planning.world.axis.per_day - 1,
    )
    found = restore(storm)
    if isinstance(found, NoWay):
        found = restore(replace(storm, world=planning.world, before=planning.dry))
    if isinstance(found, NoWay):
        raise PlanRefusedError(f"Plan {earlier.number} cannot be mended", "plan again instead")
    rule = f"plan {earlier.number} again"
    accepted = _publish(planning, found.result.plan, rule, (0.0, by, now), undone=True)
    record("plan undone", by=by, at=now, before=published.number, after=accepted.plan.number)
    return Undone(accepted, earlier.number, taken)


def earlier_plan() -> models.Plan | None:
    """Return the plan that undoing brings back."""
    return (
        models.Plan.objects.filter(state=models.Plan.State.SUPERSEDED)
        .exclude(published_at=None)
        .order_by("-published_at", "-number")
        .first()
    )


def _take_back(plan: models.Plan, now: datetime) -> int:
    lost = models.LostTime.objects.filter(plan=plan, taken_back_at=None, last__gte=now.date())
    count = 0
    for row in lost:
        row.taken_back_at = now
        row.save(update_fields=["taken_back_at"])
        count += 1
    models.Change.objects.filter(plan=plan, table__in=STANDS).update(plan=None)
    for change in models.Change.objects.filter(plan=plan).order_by("-pk"):
        put(change, change.before, now)
        change.delete()
        count += 1
    return count
