"""Figures of one's own in place of the library's: set, shown beside ours, and taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction

from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.services.history import record
from jobs.trade.overrides import Own, check_own

from .library import current_library

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime


class SetBy(NamedTuple):
    """Who sets figures, when, for which job (None: the whole company), and why."""

    by: str
    now: datetime
    job: models.Job | None = None
    why: str = ""


def figures_of(prefix: str) -> list[models.Override]:
    """Return the figures of one's own below a path: the company's first, then the jobs'."""
    rows = models.Override.objects.filter(path__startswith=f"{prefix} ").select_related("job")
    return sorted(rows, key=lambda row: (row.job_id is not None, row.path, str(row.job)))


def seen(rows: Sequence[models.Override]) -> str:
    """Return what an editor saw, so that he can be told if it is not so any more."""
    return " ".join(f"{row.pk}.{row.revision}" for row in rows)


@transaction.atomic
def set_figures(prefix: str, owns: Sequence[Own], *, told: str, set_by: SetBy) -> int:
    """Set figures of one's own, all or none; return how many changed.

    Sending the same twice changes nothing the second time.

    Raises
    ------
    TradeError
        If one cannot stand in the library.
    ChangedMeanwhileError
        If the figures below the path are not those the editor saw.
    """
    library = current_library()
    for own in owns:
        check_own(library, own)
    rows = figures_of(prefix)
    mine = {row.path: row for row in rows if row.job == set_by.job}
    fresh = [own for own in owns if own.path not in mine or mine[own.path].value != own.value]
    if fresh and seen(rows) != told:
        raise ChangedMeanwhileError
    for own in fresh:
        _set(mine.get(own.path), own, set_by)
    return len(fresh)


@transaction.atomic
def reset_figure(row: models.Override, *, by: str, now: datetime) -> None:
    """Go back to the library's own figure."""
    record("own figure reset", by=by, at=now, job=row.job, before=_told(row))
    row.delete()


def _set(row: models.Override | None, own: Own, set_by: SetBy) -> None:
    before = _told(row) if row else None
    row = row or models.Override(job=set_by.job, path=own.path)
    row.value, row.why, row.by = own.value, set_by.why, set_by.by
    row.save()
    record(
        "own figure set",
        by=set_by.by,
        at=set_by.now,
        job=set_by.job,
        before=before,
        after=_told(row),
    )


def _told(row: models.Override) -> dict[str, object]:
    return {"what": row.path, "figure": row.value, "why": row.why}
