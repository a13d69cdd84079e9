"""Reads figures of one's own, as shown beside the library's; and what new numbers would change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from jobs import models
from jobs.services.library import current_library
from jobs.services.numbers import Proposal, propose
from jobs.services.own_figures import figures_of, seen
from jobs.services.speech import say_day
from jobs.trade.errors import TradeError
from jobs.trade.overrides import LEAST, PACE, Own, fits

from .frame import JobHead, job_head, shown_plan

SHOWN = 100


class OwnRow(NamedTuple):
    """One figure of one's own."""

    pk: int
    name: str
    address: tuple[str, str]
    what: str
    figure: str
    whose: str
    why: str
    by: str
    when: str
    lost: bool


@dataclass(frozen=True, slots=True)
class OwnFigures:
    """The figures of one's own of one kind of work or one wait."""

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
    changes = len(newer.works) + len(newer.waits) if newer else 0
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
    section, _, rest = row.path.partition(" ")
    key, _, what = rest.partition(" ")
    library = current_library()
    known = library.templates.get(key) if section == "template" else library.waits.get(key)
    return OwnRow(
        pk=row.pk,
        name=known.name if known else key,
        address=(section, key),
        what=_what(what),
        figure=_figure(row.value),
        whose=row.job.name if row.job else "all jobs",
        why=row.why,
        by=row.by,
        when=say_day(row.modified.date()),
        lost=not fits(library, Own(row.path, row.value)),
    )


def _what(what: str) -> str:
    if what == LEAST:
        return "least people"
    word, _, way = what.partition(" ")
    return f"pace {way}" if word == PACE else "pace" if what == "rate" else "time"


def _figure(value: object) -> str:
    if isinstance(value, list):
        return " · ".join(map(str, value))
    return str(value)
