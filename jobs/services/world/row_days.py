"""When a planned work stands on each day, on the clock of its yard, and which of its milestones an owner is told of."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from jobs import models


class Stretch(NamedTuple):
    """From when to when on a day; ``whole`` if that is all its crew works that day."""

    day: date
    begins: datetime
    ends: datetime
    whole: bool


def stretches(row: models.PlanRow) -> Iterator[Stretch]:
    """Give the days of a row in order; its activity's job must be at hand.

    A work that is over is on no day after the one on which it was, whatever was planned.
    """
    zone, over = ZoneInfo(row.activity.job.zone), row.activity.finished_at
    last = date.max if over is None else over.astimezone(zone).date()
    for start, finish, whole in row.segments:
        begins = datetime.fromisoformat(start).astimezone(zone)
        if begins.date() <= last:
            ends = datetime.fromisoformat(finish).astimezone(zone)
            yield Stretch(begins.date(), begins, ends, whole)


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
