"""Reads what may have failed: works that were done lately or stand in the plan until today, by job."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from django.db.models import Q

from jobs import models
from jobs.services.telling.speech import say_day, spoken_days
from jobs.trade.work import INSPECTION

from .frame import local

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

LATELY = timedelta(days=60)
LEAST = Decimal("0.25")
"""Crew days from which on work is told as behind or ahead: a slot."""


class MayHaveFailed(NamedTuple):
    """A work that took place."""

    uid: str
    slug: str
    name: str
    when: str


class OffPlan(NamedTuple):
    """A work that went otherwise than planned, by what was logged of it."""

    slug: str
    uid: str
    job: str
    work: str
    words: str
    behind: bool


def read_may_have_failed(
    now: datetime, *, inspections: bool
) -> tuple[tuple[str, tuple[MayHaveFailed, ...]], ...]:
    """Read inspections or works of the last weeks by job, newest first; two queries."""
    over = Q(finished_at__gt=now - LATELY) | Q(started_at__isnull=False, finished_at=None)
    if inspections:
        published = models.PlanRow.objects.filter(
            plan__state=models.Plan.State.PUBLISHED, start__lte=now, finish__gt=now - LATELY
        )
        over |= Q(pk__in=published.values("activity"))
    rows = models.Activity.objects.filter(over, job__state__in=models.Job.OPEN, retired=False)
    rows = rows.filter(skill=INSPECTION) if inspections else rows.exclude(skill=INSPECTION)
    found: dict[str, list[MayHaveFailed]] = {}
    for row in rows.select_related("job").order_by("job__name", "-finished_at", "-pk"):
        if inspections or not row.detail.get("outside"):
            found.setdefault(row.job.name, []).append(_told(row))
    return tuple((job, tuple(works)) for job, works in found.items())


def off_plan(rows: Iterable[models.PlanRow], now: datetime) -> tuple[OffPlan, ...]:
    """Return the works of published rows that are a slot or more behind the plan, or ahead of it."""
    begun = (row for row in rows if row.start <= now or row.activity.started_at)
    return tuple(
        _off((row for row in begun if not row.activity.finished_at or row.finish > now), now)
    )


def _off(rows: Iterable[models.PlanRow], now: datetime) -> Iterator[OffPlan]:
    for row in rows:
        work = row.activity
        done = 100 if work.finished_at else work.done_share if work.started_at else 0
        left = work.days * (100 - done) / 100
        late = left - work.days * _to_come(row, now)
        if abs(late) >= LEAST:
            words = f"{spoken_days(abs(late))} {'behind' if late > 0 else 'ahead'}"
            yield OffPlan(work.job.slug, work.uid, work.job.name, work.name, words, late > 0)


def _to_come(row: models.PlanRow, now: datetime) -> Decimal:
    """Share of the hours planned for a work that lie ahead."""
    ahead = hours = timedelta()
    for start, finish, _ in row.segments:
        begins, ends = datetime.fromisoformat(start), datetime.fromisoformat(finish)
        hours += ends - begins
        ahead += max(timedelta(), ends - max(begins, now))
    return Decimal(str(ahead / hours)) if hours else Decimal(0)


def _told(row: models.Activity) -> MayHaveFailed:
    ended = row.finished_at
    when = f"done {say_day(local(ended, row.job).date())}" if ended else "not logged as done"
    return MayHaveFailed(row.uid, row.job.slug, row.name, when)
