"""What we said against what happened: were jobs really done by the days we gave?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from django.db.models import Q

from jobs import models

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime


class SaidAndDone(NamedTuple):
    """One outlook of a job that is done, and when it was."""

    outlook: models.Outlook
    done: datetime

    @property
    def kept(self) -> tuple[bool, bool, bool]:
        """Whether it was done by the P50, P80 and P90 given."""
        said, done = self.outlook, self.done
        return done <= said.p50, done <= said.p80, done <= said.p90


@dataclass(frozen=True, slots=True)
class Record:
    """All of it, oldest first, and the shares kept; None while nothing is done.

    Each job counts once for each share: by the first outlook that was said of it, before it knew.
    """

    rows: tuple[SaidAndDone, ...]
    jobs: int
    shares: tuple[float, float, float] | None


def read_record() -> Record:
    """Return what was said of every job that is done, in two queries."""
    done = _done()
    outlooks = models.Outlook.objects.filter(job__in=done).select_related("job")
    rows = tuple(
        SaidAndDone(outlook, done[outlook.job_id])
        for outlook in outlooks.order_by("said_at", "pk")
        if outlook.said_at < done[outlook.job_id]
    )
    first = {row.outlook.job_id: row for row in reversed(rows)}
    return Record(rows, len(first), _shares(first.values()))


def _shares(rows: Iterable[SaidAndDone]) -> tuple[float, float, float] | None:
    kept = [row.kept for row in rows]
    if not kept:
        return None
    p50, p80, p90 = (sum(column) / len(kept) for column in zip(*kept, strict=True))
    return p50, p80, p90


def _done() -> dict[int, datetime]:
    """When the last counted work of a job ended, for jobs with none left to do."""
    counts = Q(detail__counts=True) | Q(detail__counts__isnull=True)
    counted = models.Activity.objects.filter(counts, retired=False)
    open_jobs = counted.filter(Q(finished_at__isnull=True)).values("job")
    found: dict[int, datetime] = {}
    rows = counted.exclude(job__in=open_jobs).values_list("job", "finished_at")
    for job, finished in rows:
        if finished is not None:
            found[job] = max(finished, found.get(job, finished))
    return found
