"""What each crew does on each day of a plan, and on which days two plans differ for it."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.services.numbers.library_words import work_name
from jobs.services.telling.words import clock_in, say
from jobs.services.world.row_days import stretches
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


class Stand(NamedTuple):
    """A work of a crew on a day, and when it begins on the yard's clock."""

    begins: datetime
    row: models.PlanRow


Stands = dict[tuple[int, date], list[Stand]]
"""By crew and day, in the order of the day."""


def stands_of(plan: models.Plan | None) -> Stands:
    """Return what each crew does on each day of a plan's open jobs, helping others too; one query."""
    found: Stands = defaultdict(list)
    if plan is None:
        return found
    rows = plan.rows.filter(crew__isnull=False, activity__job__state__in=models.Job.OPEN)
    for row in rows.select_related("activity__job", "crew", "lent").order_by("start", "pk"):
        for stretch in stretches(row):
            for crew in row.crews:
                found[crew.pk, stretch.day].append(Stand(stretch.begins, row))
    return {key: sorted(stands, key=lambda it: it.begins) for key, stands in found.items()}


def days_that_differ(
    old: Mapping[tuple[int, date], list[Stand]],
    new: Mapping[tuple[int, date], list[Stand]],
    today: date,
    ahead: timedelta,
) -> dict[int, list[date]]:
    """Return the days after today on which a crew does something else, or at another hour, by crew."""
    days = {key for key in old.keys() | new.keys() if today < key[1] <= today + ahead}
    found: dict[int, list[date]] = defaultdict(list)
    for crew, day in sorted(days):
        if _facts(old.get((crew, day))) != _facts(new.get((crew, day))):
            found[crew].append(day)
    return found


def day_line(day: date, stands: Iterable[Stand], language: str = "en") -> str:
    """Return a day of a crew on one line, in its language."""
    told = [
        f"{clock_in(begins, language)} {row.activity.job.name}: {work_name(row.activity, language)}"
        for begins, row in stands
    ]
    works = "; ".join(told) or say(Sentence("evening-free"), language)
    return say(Sentence("evening-day", {"day": day.isoformat(), "works": works}), language)


def _facts(stands: list[Stand] | None) -> list[tuple[datetime, int]]:
    return [(begins, row.activity_id) for begins, row in stands or []]
