"""How sound the plan is that people see: read it as it stands now, and put every check to it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from django.db.models import F, OuterRef, Subquery

from jobs import models
from jobs.scheduling.errors import NoPlan, SchedulingError
from jobs.scheduling.health.check import Due, check_health
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.placing.repair import keep_places
from jobs.scheduling.result import Plan
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.slots import instant
from jobs.services.sky.weather_windows import with_weather
from jobs.services.world.keep import placements_of
from jobs.services.world.lacking import unmanned
from jobs.services.world.overtime import opened
from jobs.services.world.read_world import read_world

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from jobs.scheduling.health.check import Check
    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import World
    from jobs.services.world.planning import Planning


@dataclass(frozen=True, slots=True)
class Health:
    """A plan and its checks: of all jobs together, or of one.

    ``plan`` is None where nothing is planned yet: a quick plan is then checked.
    """

    plan: models.Plan | None
    planning: Planning
    checks: tuple[Check, ...]


class Checkup:
    """The plan that is shown, read once to be checked for all jobs and for single ones.

    Attributes
    ----------
    planning
        The world as it is now.
    sound
        The plan as it still stands in that world, or mended where it does not.

    Raises
    ------
    SchedulingError
        If there is nothing to plan, or no plan keeps every link.
    """

    def __init__(self, plan: models.Plan | None, now: datetime) -> None:
        dry = _world_of(plan, now)
        if not dry.world.works:
            raise SchedulingError(
                "There is nothing to check", remedy="add a job with something to build in it"
            )
        self.plan = plan
        self._shown = placements_of(plan, dry) if plan else {}
        self.planning = with_weather(dry, now)
        try:
            self.sound = _sound(self.planning.world, self._shown)
        except NoPlan:
            # Between weather and an at-most nothing may fit: as when planning, the forecast gives way.
            self.planning = dry
            self.sound = _sound(dry.world, self._shown)
        self._now = now

    @cached_property
    def _due(self) -> tuple[Due, ...]:
        return _due(self.planning, self._now)

    def of(self, job: models.Job | None = None) -> Health:
        """Check all jobs, or one."""
        checks = check_health(
            self.planning.world,
            self.sound,
            shown=self._shown or None,
            due=self._due,
            job=job.uid if job else "",
            nobody=unmanned(self.planning, self.sound),
        )
        return Health(self.plan, self.planning, checks)


def _world_of(plan: models.Plan | None, now: datetime) -> Planning:
    """Read the world with the optional days open that a plan uses."""
    if plan is None:
        return read_world(now)
    if plan.state == models.Plan.State.PUBLISHED:
        return read_world(now, overtime=plan.overtime)
    return opened(read_world(now), plan.overtime)


def _sound(world: World, shown: Mapping[str, Placement]) -> Plan:
    """Return what is shown if it still stands, else mended, else a quick plan."""
    if not shown:
        return build_plan(world).plan
    plan = Plan(shown)
    return plan if judge_plan(world, plan).sound else keep_places(world, shown)


def _due(planning: Planning, now: datetime) -> tuple[Due, ...]:
    """Works first published to be done by now, whatever later plans said; those done before left out."""
    published = models.PlanRow.objects.filter(
        activity=OuterRef("pk"), plan__published_at__isnull=False
    ).order_by("plan__published_at", "plan__number")
    rows = models.Activity.objects.filter(uid__in=planning.activities, retired=False).annotate(
        due=Subquery(published.values("finish")[:1]),
        since=Subquery(published.values("plan__published_at")[:1]),
    )
    return tuple(
        Due(row.uid, instant(row.due), instant(row.finished_at) if row.finished_at else None)
        for row in rows.filter(due__lte=now, due__gt=F("since")).order_by("pk")
    )
