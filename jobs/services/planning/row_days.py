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
    """Give the days of a row in order; its activity's job must be at hand."""
    zone = ZoneInfo(row.activity.job.zone)
    for start, finish, whole in row.segments:
        begins = datetime.fromisoformat(start).astimezone(zone)
        yield Stretch(begins.date(), begins, datetime.fromisoformat(finish).astimezone(zone), whole)
