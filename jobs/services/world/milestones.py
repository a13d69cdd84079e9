"""Which works an owner is told of when they are over, and when each may be expected."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date, datetime

    from jobs import models


def milestone_of(row: models.PlanRow) -> str:
    """Return what an owner is told when a work is over; empty for most."""
    return str(row.activity.detail.get("milestone", ""))


def expected(row: models.PlanRow, now: datetime) -> date | None:
    """Return the day on which a milestone may be expected: as planned, or today where it is begun and late.

    None if it is over, or its day is past and nobody said that it is not.
    """
    work, zone = row.activity, ZoneInfo(row.activity.job.zone)
    late = row.finish <= now
    if work.finished_at is not None or (late and work.started_at is None):
        return None
    return max(row.finish, now).astimezone(zone).date()


def milestones(rows: Iterable[models.PlanRow]) -> list[models.PlanRow]:
    """Return the milestones among rows in order of time; of several with the same words in a yard the last one counts."""
    told = sorted(filter(milestone_of, rows), key=lambda row: (row.finish, row.pk))
    last = {(row.activity.job_id, milestone_of(row)): row for row in told}
    return sorted(last.values(), key=lambda row: (row.finish, row.pk))
