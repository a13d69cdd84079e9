"""The one translator from tables to what the planner reads: jobs, crews, machines, works, ties."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cache, partial
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from crews.services.day_hours import HoursBook, read_book
from crews.services.hours import Hours, working_hours
from jobs import models
from jobs.scheduling.calendars import days_mask
from jobs.scheduling.slots import Position, SlotAxis, day_of, make_axis
from jobs.scheduling.storm.lost import lose
from jobs.scheduling.world import Tie, World
from jobs.services.scope.releases import fixed_waits, released_waits
from jobs.trade.work import Clock, Lag, Relation, Sentence
from jobs.weather.daylight import dark_from

from .crew_clock import on_crews_clocks
from .hands import Hands
from .losses import read_losses
from .overtime import opened
from .revision import world_revision
from .rows import Rows

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from jobs.scheduling.storm.lost import Loss

HORIZON_DAYS = 300
"""How far ahead of today a plan may reach, calendar days."""


@dataclass(frozen=True, slots=True)
class Planning:
    """A world with the rows it was made of, and the revision it was read at.

    ``dry`` is the same world without the time that was lost, which ``losses`` closed.
    """

    world: World
    dry: World
    losses: tuple[Loss, ...]
    activities: Mapping[str, models.Activity]
    jobs: Mapping[str, models.Job]
    hours: Hours
    revision: str
    book: HoursBook
    fixed: frozenset[tuple[str, str]] = frozenset()
    """Works and waits whose length an engineer has set."""
    overtime: tuple[dict[str, Any], ...] = ()
    """Optional days that are open, as plans keep them."""
    windows: Mapping[str, int | None] = field(default_factory=dict)
    """Slots of works that the forecast keeps out of some, as they are without it; None is all slots."""


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
    jobs = [*open_jobs(), *bids]
    ids = [job.pk for job in jobs]
    activities = _activities(ids)
    by_pk = {job.pk: job for job in jobs}
    first = _first_day(now, activities, by_pk)
    days = (now.date() - first).days + HORIZON_DAYS
    hours = staffed(working_hours(first, first + timedelta(days=days - 1), with_gone=True))
    book = read_book()
    axes = _axes(jobs, first, days, book)
    axis = next(iter(axes.values()))
    closed = _closed(jobs, axis)
    released = released_waits([activity.pk for activity in activities])
    today = (now.date() - first).days
    at = axis.from_instant(int(now.timestamp()) // 60)
    hands = Hands(axis, hours, today, at)
    reader = Rows(axes, by_pk, hands, released)
    by_uid = {activity.uid: activity for activity in activities}
    works = reader.works(activities)
    dry = World(
        axes=axes,
        now=at,
        crews={slug: hands.crew(slug) for slug in hours.crews},
        machines=hands.machines(works.values()),
        places=reader.places(ids),
        jobs={job.uid: reader.job(job, closed.get(job.pk, 0), jobs) for job in jobs},
        works=works,
        ties=on_crews_clocks(_ties(ids, activities, released, now), works, book),
        holidays=hours.holidays,
    )
    losses = read_losses(axis, activities)
    by_job = {job.uid: job for job in jobs}
    by_pour = {activity.uid: released.get(activity.pk, {}) for activity in activities}
    planning = Planning(
        lose(dry, losses), dry, losses, by_uid, by_job, hours, revision, book, fixed_waits(by_pour)
    )
    return opened(planning, _overtime() if overtime is None else overtime)


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


def _first_day(
    now: datetime, activities: Iterable[models.Activity], jobs: Mapping[int, models.Job]
) -> date:
    """The axis begins with the first thing that happened, or yesterday, on a Monday of the yard's clock."""
    begun = [
        row.started_at.astimezone(ZoneInfo(jobs[row.job_id].zone)).date()
        for row in activities
        if row.started_at
    ]
    first = min([now.date() - timedelta(days=1), *begun])
    return first - timedelta(days=first.weekday())


def _axes(
    jobs: Sequence[models.Job], first: date, days: int, book: HoursBook
) -> dict[str, SlotAxis]:
    """One axis per time zone; evenings begin when it is dark where the zone's first job lies."""
    axes: dict[str, SlotAxis] = {}
    for job in jobs:
        if job.zone not in axes:
            axes[job.zone] = _axis(job, first, days, book)
    return axes or {"UTC": make_axis(first, days, ZoneInfo("UTC"), hours=_times(book))}


def axis_of(job: models.Job, first: date, days: int) -> SlotAxis:
    """Return the slots of some days on a yard's own clock, as the company works them."""
    return _axes([job], first, days, read_book())[job.zone]


def _times(book: HoursBook) -> Callable[[date], tuple[Position, ...]]:
    """Return the times of slots of a day; days alike are laid out once."""
    laid_out = cache(day_of)
    return lambda day: laid_out(*book.on(day))


def _axis(job: models.Job, first: date, days: int, book: HoursBook) -> SlotAxis:
    zone = ZoneInfo(job.zone)
    evening = None
    if job.latitude is not None and job.longitude is not None:
        evening = partial(
            dark_from, latitude=float(job.latitude), longitude=float(job.longitude), zone=zone
        )
    return make_axis(first, days, zone, evening=evening, hours=_times(book))


def _closed(jobs: Sequence[models.Job], axis: SlotAxis) -> dict[int, int]:
    """Bitmap of each job's no-work days, and of its pause where that has a beginning."""
    closed: dict[int, int] = {}
    for job in jobs:
        if job.paused_from and job.paused_until and job.paused_until > axis.first:
            last = job.paused_until - timedelta(days=1)
            closed[job.pk] = days_mask(axis, job.paused_from, last)
    for row in models.NoWorkDay.objects.filter(job__in=jobs, last__gte=axis.first):
        mask = days_mask(axis, row.first, row.last)
        closed[row.job_id] = closed.get(row.job_id, 0) | mask
    return closed


def _ties(
    ids: Sequence[int],
    activities: Iterable[models.Activity],
    released: Mapping[int, Mapping[str, int]],
    now: datetime,
) -> list[Tie]:
    """Links between planned works; an *at most* that has been missed in fact binds nobody any more."""
    events = {a.uid: (a.started_at, a.finished_at) for a in activities}
    rows = models.Link.objects.filter(
        job__in=ids, before__retired=False, after__retired=False, lifted=False
    ).select_related("before", "after")
    return [
        _without_missed(_released(tie_of(row), released.get(row.before_id, {})), events, now)
        for row in rows.order_by("pk")
    ]


def _released(tie: Tie, waits: Mapping[str, int]) -> Tie:
    """A wait lasts no longer than the engineer of the pour asks for."""
    amount = min(tie.lag.amount, waits.get(tie.lag.wait, tie.lag.amount))
    return tie if amount == tie.lag.amount else replace(tie, lag=replace(tie.lag, amount=amount))


def _without_missed(
    tie: Tie, events: Mapping[str, tuple[datetime | None, datetime | None]], now: datetime
) -> Tie:
    event = events[tie.before][tie.relation.from_finish]
    met = events[tie.after][tie.relation.to_finish]
    if event is None or met is not None or tie.lag.at_most is None:
        return tie
    if event + timedelta(minutes=tie.lag.at_most) > now:
        return tie
    return replace(tie, lag=replace(tie.lag, at_most=None))


def tie_of(link: models.Link) -> Tie:
    """Return a stored link as the planner reads it."""
    return Tie(
        before=link.before.uid,
        after=link.after.uid,
        relation=Relation(link.relation),
        lag=Lag(link.lag, Clock(link.clock), link.at_most, link.wait),
        rule=link.rule,
        why=Sentence(link.why[0], link.why[1]) if link.why else Sentence(""),
    )
