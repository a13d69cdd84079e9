"""Says what a line of the record about a published plan means: which plan, made when, whose finish it moved."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from jobs import models
from jobs.services.telling.speech import say_day, say_time

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import tzinfo

PUBLISHED = "plan published"


def plans_told(
    entries: Iterable[models.HistoryEntry], zone: tzinfo
) -> Mapping[int, tuple[str, str]]:
    """Return what is known of published plans, in words, by their entries: what it is, and what it was before; two queries."""
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
        pk: (_after(number, plans.get(number), moved[number], zone), _before(befores[pk]))
        for pk, number in numbers.items()
    }


def _before(number: object) -> str:
    return f"Before that: {f'plan {number}' if isinstance(number, int) else 'no plan on phones'}"


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
