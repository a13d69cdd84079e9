"""Write one line of the record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from jobs import models

if TYPE_CHECKING:
    from datetime import datetime


class Who(NamedTuple):
    """Who does it, and when."""

    by: str
    now: datetime


def record(
    what: str,
    *,
    by: str,
    at: datetime,
    job: models.Job | None = None,
    before: Any = None,
    after: Any = None,
) -> models.HistoryEntry:
    """Keep who did what, when, and how it was before and after (JSON values)."""
    return models.HistoryEntry.objects.create(
        what=what, by=by, at=at, job=job, before=before, after=after
    )


def keep_change(change: models.Change) -> models.Change:
    """Store something that was said to change the plan, with a line of the record."""
    change.save()
    record(
        change.get_cause_display(),
        by=change.by,
        at=change.at,
        job=change.job,
        before={"stood": change.before} if change.before else None,
        after={"said": change.why},
    )
    return change
