"""Where a job stands, from bid to closed, and what follows from it for plans and phones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from crews.models import CalendarEvent
from crews.services.events import publish_events
from crews.services.nothing import fill_feeds
from crews.services.setup import ChangedMeanwhileError
from jobs.models.job import Job
from jobs.services.day.under_way import STANDS
from jobs.services.history import record
from jobs.services.storm.happened import pause
from jobs.services.telling.speech import say_day
from jobs.services.turns import take_turn
from jobs.trade.errors import TradeError

if TYPE_CHECKING:
    from datetime import date, datetime

    from jobs.services.history import Who

State = Job.State
OVER = (State.HANDED_OVER, State.CLOSED)


@dataclass(frozen=True, slots=True)
class Stage:
    """A state, with the days of a pause: closed from the first, open again from the second.

    Raises
    ------
    ValueError
        If a pause has no days, or they are out of order.
    """

    state: str
    paused_from: date | None = None
    paused_until: date | None = None

    def __post_init__(self) -> None:
        paused = self.state == State.PAUSED
        if paused is not (self.paused_from is not None and self.paused_until is not None):
            raise ValueError("a pause has two days, and nothing else has any")
        if self.paused_from and self.paused_until and self.paused_until <= self.paused_from:
            raise ValueError("a pause ends after it begins")


@dataclass(frozen=True, slots=True)
class Standing:
    """What is left of a job: works not done, works under way, entries ahead in calendars."""

    left: int
    running: tuple[str, ...]
    ahead: int


def standing_of(job: Job, now: datetime) -> Standing:
    """Count what is left of a job; three queries."""
    works = job.activities.filter(retired=False, finished_at=None)
    running = works.filter(started_at__isnull=False).values_list("name", flat=True)
    return Standing(works.count(), tuple(running), _ahead(job, now))


def what_follows(job: Job, left: Standing) -> dict[str, str]:
    """Return for each state what follows if the job gets it, in words."""
    leaves = (
        f"Its {left.ahead} calendar entries to come are cancelled on phones at once; what is past stays."
        if left.ahead
        else "Nothing of it is on phones."
    )
    undone = f"{_works(left.left)} not done stay in the record. " if left.left else ""
    planned = "Planned with the other jobs"
    return {
        State.BID: f"In no plan; only what-if looks at it. {leaves}",
        State.SOLD: f"{planned}, from {say_day(job.starts_on)} on. Phones show it once a plan is published.",
        State.ACTIVE: f"{planned}: {_works(left.left)} left.",
        State.PAUSED: "Closed to all our work on the days of the pause; what is under way goes on after it. "
        "It stays in plans, and phones follow when you plan again and publish.",
        State.PUNCH: f"{planned} until the last small thing is done: {_works(left.left)} left.",
        State.HANDED_OVER: f"Out of all plans. {undone}{leaves}",
        State.CLOSED: f"Out of all plans, and nothing of it is asked for any more; its record is kept. {undone}{leaves}",
    }


@transaction.atomic
def set_stage(job: Job, stage: Stage, who: Who, *, revision: int) -> int:
    """Let a job stand elsewhere; return how many calendar entries were cancelled for it.

    Raises
    ------
    ChangedMeanwhileError
        If the job is not at the revision the editor saw.
    TradeError
        If the job would be over while work is under way.
    """
    take_turn()
    job = Job.objects.select_for_update().get(pk=job.pk)
    if job.revision != revision:
        raise ChangedMeanwhileError
    left = standing_of(job, who.now)
    if stage.state in OVER and left.running:
        raise TradeError(
            f"{left.running[0]} is under way", remedy="log it as done on the Day page first"
        )
    before = told(job)
    _stand(job, stage, who)
    cancelled = 0
    if job.state not in Job.OPEN:
        cancelled = publish_events((), job=job.uid, now=who.now).cancelled
        fill_feeds(who.now)
    record(STANDS, by=who.by, at=who.now, job=job, before=before, after=told(job))
    return cancelled


def _stand(job: Job, stage: Stage, who: Who) -> None:
    """Write the state; a pause of a job under way is said as a cause, for its share in moved dates."""
    if stage.paused_from and stage.paused_until and job.state in Job.OPEN:
        pause(job, stage.paused_from, stage.paused_until, "", who)
        job.refresh_from_db()
        return
    job.state = stage.state
    job.paused_from, job.paused_until = stage.paused_from, stage.paused_until
    job.save()


def told(job: Job) -> dict[str, str]:
    """Return where a job stands as the record keeps it."""
    facts = {"stage": str(job.state)}
    if job.paused_from and job.paused_until:
        facts |= {"paused from": str(job.paused_from), "goes on": str(job.paused_until)}
    return facts


def _ahead(job: Job, now: datetime) -> int:
    rows = CalendarEvent.objects.filter(job=job.uid, end__gt=now)
    return rows.exclude(status=CalendarEvent.Status.CANCELLED).count()


def _works(count: int) -> str:
    return "1 work" if count == 1 else f"{count} works"
