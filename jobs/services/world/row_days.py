"""When a planned work stands on each day, on the clock of its yard."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Iterator

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
