"""What tests of the days after a storm share: rain on the first day on which a crew works, and a steady way out."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from jobs.models import Plan
from jobs.scheduling.storm.ways_out import Way
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.storm.offer import answer_better, read_storm
from tests.office import NOW

if TYPE_CHECKING:
    from jobs.models import Answer, LostTime

BY = "test"
HOLIDAYS = 3
"""Days off of the whole company, written with it."""
EASTERN = ZoneInfo("America/New_York")


def first_day() -> date:
    """Return the first day on which a crew works."""
    row = Plan.objects.get(state="published").rows.filter(crew__isnull=False).order_by("start")[0]
    return row.start.astimezone(EASTERN).date()


def rain(days: int = 2, **more: object) -> list[LostTime]:
    """Let it rain for all from the first day on which a crew works."""
    first = first_day()
    lost = Lost(first=first, last=first + timedelta(days=days - 1), **more)
    return lose_days(lost, by=BY, now=NOW)


def steady() -> Answer:
    """Return the steady way out, searched for a moment."""
    found = answer_better(read_storm(NOW), NOW, ways=(Way.STEADY,), seconds=0.05)
    return found[0].row
