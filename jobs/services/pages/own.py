"""Reads figures of one's own, as shown beside the library's; and what new numbers would change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from jobs import models
from jobs.services.numbers.library import current_library
from jobs.services.numbers.own_figures import figures_of, seen
from jobs.services.numbers.own_words import tell_own
from jobs.services.scope.take_numbers import Proposal, propose
from jobs.services.telling.speech import say_day
from jobs.trade.errors import TradeError

from .frame import JobHead, job_head, shown_plan

SHOWN = 100


class OwnRow(NamedTuple):
    """One figure of one's own."""

    pk: int
    name: str
    address: str
    what: str
    figure: str
    ours: str
    whose: str
    why: str
    by: str
    when: str
    lost: bool


@dataclass(frozen=True, slots=True)
class OwnFigures:
    """The figures of one's own of one row of the library."""

    rows: tuple[OwnRow, ...]
    seen: str


@dataclass(frozen=True, slots=True)
class NumbersPage:
    """The numbers a job is reckoned with, and the newer ones if there are any."""

    head: JobHead
    library: str
    since: str
    own: tuple[OwnRow, ...]
    newer: Proposal | None
    more: int
    reason: str
    remedy: str


def read_own(prefix: str) -> OwnFigures:
    """Read the figures below a path, for the company and for jobs, in one query."""
    rows = figures_of(prefix)
    return OwnFigures(tuple(map(_row, rows)), seen(rows))


def read_all_own() -> tuple[OwnRow, ...]:
    """Read every figure of one's own, in one query."""
    rows = models.Override.objects.select_related("job").order_by("path", "job")
    return tuple(map(_row, rows))


def read_numbers(job: models.Job) -> NumbersPage:
    """Read the page of a job's numbers."""
    kept = models.LibraryVersion.objects.filter(version=job.library).first()
    rows = models.Override.objects.select_related("job").order_by("path")
    newer, reason, remedy = None, "", ""
    try:
        newer = propose(job)
    except TradeError as error:
        reason, remedy = error.reason, error.remedy
    changes = len(newer.works) + len(newer.waits) + len(newer.figures) if newer else 0
    return NumbersPage(
        head=job_head(job, "numbers", shown_plan()),
        library=job.library,
        since=say_day(kept.created.date()) if kept else "",
        own=tuple(_row(row) for row in rows if row.job_id in (None, job.pk)),
        newer=newer,
        more=max(0, changes - SHOWN),
        reason=reason,
        remedy=remedy,
    )


def _row(row: models.Override) -> OwnRow:
    library = current_library()
    told = tell_own(library, row.path, row.value)
    return OwnRow(
        pk=row.pk,
        name=told.name,
        address=told.address,
        what=told.what,
        figure=told.own,
        ours=told.ours,
        whose=row.job.name if row.job else "all jobs",
        why=row.why,
        by=row.by,
        when=say_day(row.modified.date()),
        lost=not told.address,
    )
