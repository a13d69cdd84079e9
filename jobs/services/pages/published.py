"""Says what a line of the record about a published plan means: which plan, made when, whose finish it moved."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.services.telling.speech import say_day, say_time

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import tzinfo

PUBLISHED = "plan published"


class Told(NamedTuple):
    """Before and after, in words."""

    before: str
    after: str


def plans_told(entries: Iterable[models.HistoryEntry], zone: tzinfo) -> Mapping[int, Told]:
    """Return the words of those entries that say a plan was published, by entry; two queries."""
    numbers = {
        entry.pk: entry.after
        for entry in entries
        if entry.what == PUBLISHED and isinstance(entry.after, int)
    }
    befores = {entry.pk: entry.before for entry in entries}
    plans = models.Plan.objects.in_bulk(set(numbers.values()), field_name="number")
    moved: dict[int, list[models.FinishChange]] = defaultdict(list)
    changes = models.FinishChange.objects.filter(plan__number__in=set(numbers.values()))
    for row in changes.select_related("plan", "job"):
        if row.was != row.becomes:
            moved[row.plan.number].append(row)
    return {
        pk: Told(_before(befores[pk]), _after(number, plans.get(number), moved[number], zone))
        for pk, number in numbers.items()
    }


def _before(number: object) -> str:
    return f"Plan {number}" if isinstance(number, int) else "No plan on phones"


def _after(
    number: int,
    plan: models.Plan | None,
    moved: Sequence[models.FinishChange],
    zone: tzinfo,
) -> str:
    """``Plan 4, made Mon 8 Jun, 7:10 am. Pear Street finishes Fri 26 Jun, not Wed 24 Jun``."""
    made = ""
    if plan is not None:
        at = plan.made_at.astimezone(zone)
        made = f", made {say_day(at.date())}, {say_time(at)}"
    finishes = "; ".join(
        f"{row.job.name} finishes {say_day(row.becomes)}, not {say_day(row.was)}" for row in moved
    )
    return f"Plan {number}{made}. {finishes or 'No finish moved'}"
