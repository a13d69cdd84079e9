"""The one translator from tables to what the planner reads: jobs, crews, machines, works, ties."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from crews.services.day_hours import HoursBook, read_book
from crews.services.hours import Hours, working_hours
from jobs import models
from jobs.scheduling.storm.lost import lose
from jobs.scheduling.world import World
from jobs.services.scope.releases import fixed_waits, released_waits

from .axes import axes_of, closed_days, first_day
from .crew_clock import on_crews_clocks
from .hands import Hands
from .lacking import finding_days
from .losses import read_losses
from .overtime import opened
from .planning import Planning
from .revision import world_revision
from .rows import Rows
from .ties import read_ties

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from jobs.scheduling.slots import SlotAxis

HORIZON_DAYS = 300
"""How far ahead of today a plan may reach, calendar days."""


def open_jobs() -> list[models.Job]:
    """Return the jobs that a plan takes, in a fixed order."""
    return list(models.Job.objects.filter(state__in=models.Job.OPEN).order_by("starts_on", "pk"))


def read_world(
    now: datetime,
    *,
    bids: Sequence[models.Job] = (),
    staffed: Callable[[Hours], Hours] = lambda hours: hours,
    overtime: list[dict[str, Any]] | None = None,
) -> Planning:
    """Read everything a plan depends on, in a bounded number of queries.

    Parameters
    ----------
    now
        Aware instant; the first slot that begins after it is the first that can be planned.
    bids
        Jobs that are not sold yet, to be planned as if they were.
    staffed
        Changes who is there, for a look at what that would do.
    overtime
        Optional days of the plan on phones, if the caller has it; else they are read.
    """
    revision = world_revision()
    read = _read(now, [*open_jobs(), *bids], staffed)
    dry = _dry_world(read)
    losses = read_losses(read.axis, read.activities)
    planning = Planning(
        world=lose(dry, losses),
        dry=dry,
        losses=losses,
        activities={activity.uid: activity for activity in read.activities},
        jobs={job.uid: job for job in read.jobs},
        hours=read.hours,
        revision=revision,
        book=read.book,
        fixed=fixed_waits({row.uid: read.released.get(row.pk, {}) for row in read.activities}),
    )
    return opened(planning, _overtime() if overtime is None else overtime)


@dataclass(frozen=True, slots=True)
class _Read:
    """What a world is made of, as it was read: rows, who is there, and the slots all is laid out on."""

    now: datetime
    jobs: Sequence[models.Job]
    activities: Sequence[models.Activity]
    first: date
    axes: Mapping[str, SlotAxis]
    hours: Hours
    book: HoursBook
    released: Mapping[int, Mapping[str, int]]
    """Minutes that an engineer lets waits after a pour last, by activity and wait."""

    @property
    def axis(self) -> SlotAxis:
        """Any of the axes: all have the same days and positions."""
        return next(iter(self.axes.values()))


def _read(now: datetime, jobs: Sequence[models.Job], staffed: Callable[[Hours], Hours]) -> _Read:
    activities = _activities([job.pk for job in jobs])
    first = first_day(now, activities, {job.pk: job for job in jobs})
    days = (now.date() - first).days + HORIZON_DAYS
    hours = working_hours(first, first + timedelta(days=days - 1), with_gone=True)
    book = read_book()
    return _Read(
        now=now,
        jobs=jobs,
        activities=activities,
        first=first,
        axes=axes_of(jobs, first, days, book),
        hours=staffed(hours),
        book=book,
        released=released_waits([activity.pk for activity in activities]),
    )


def _dry_world(read: _Read) -> World:
    """Return the world without the time that was lost."""
    at = read.axis.from_instant(int(read.now.timestamp()) // 60)
    hands = Hands(read.axis, read.hours, (read.now.date() - read.first).days, at)
    rows = Rows(read.axes, {job.pk: job for job in read.jobs}, hands, read.released)
    ids = [job.pk for job in read.jobs]
    closed = closed_days(read.jobs, read.axis)
    works = rows.works(read.activities)
    ties = read_ties(ids, read.activities, read.released, read.now)
    return World(
        axes=read.axes,
        now=at,
        crews={slug: hands.crew(slug) for slug in read.hours.crews}
        | hands.hired(works.values(), {row.uid: row for row in read.activities}, finding_days),
        machines=hands.machines(works.values()),
        places=rows.places(ids),
        jobs={job.uid: rows.job(job, closed.get(job.pk, 0), read.jobs) for job in read.jobs},
        works=works,
        ties=on_crews_clocks(ties, works, read.book),
        holidays=read.hours.holidays,
    )


def _activities(jobs: Sequence[int]) -> list[models.Activity]:
    """Activities of some jobs, retired ones left out, in a fixed order."""
    return list(
        models.Activity.objects.filter(job__in=jobs, retired=False)
        .select_related("zone", "done_crew", "lent", "only_crew")
        .order_by("job_id", "order", "pk")
    )


def _overtime() -> list[dict[str, Any]]:
    """Optional days of the plan on phones: people know of them, and count on working."""
    plans = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED)
    return plans.values_list("overtime", flat=True).first() or []
