"""Rented machines of a plan: when each comes and goes, what is idle, about how much money."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from crews.models import Machine, TimeOff
from jobs import models
from jobs.scheduling.rentals import Hire, hires_of
from jobs.services.telling.speech import say_span
from jobs.services.world.row_days import stretches

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable
    from decimal import Decimal

WEEKEND = 5
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Rental:
    """One stretch on hire of one machine."""

    machine: Machine
    hire: Hire
    order_by: date
    """Last working day on which it can be ordered."""

    @property
    def cost(self) -> Decimal | None:
        """About how much; None where no price is told."""
        price = self.machine.day_price
        return None if price is None else price * self.hire.paid

    @property
    def words(self) -> str:
        """``Thu 25 - Mon 29 Jun: 5 days paid, 2 of them idle``."""
        days = f"{self.hire.paid} day{'' if self.hire.paid == 1 else 's'} paid"
        idle = f", {len(self.hire.idle)} of them idle" if self.hire.idle else ""
        return f"{say_span(self.hire.first, self.hire.last)}: {days}{idle}"


def rentals_of(plan: models.Plan | None) -> tuple[Rental, ...]:
    """Return every stretch on hire of a plan's open jobs, by day; three queries."""
    rented = {one.slug: one for one in Machine.objects.filter(rented=True, active=True)}
    if plan is None or not rented:
        return ()
    rows = plan.rows.filter(activity__job__state__in=models.Job.OPEN).exclude(machines=[])
    needed: dict[tuple[str, int], set[date]] = defaultdict(set)
    worked: dict[tuple[str, int], set[date]] = defaultdict(set)
    for row in rows.select_related("activity__job"):
        zone = ZoneInfo(row.activity.job.zone)
        busy = {stretch.day for stretch in stretches(row)}
        end = row.activity.finished_at or row.finish
        held = set(_days(row.start.astimezone(zone).date(), end.astimezone(zone).date()))
        for _, unit, slug in row.machines:
            needed[slug, unit] |= held
            worked[slug, unit] |= busy
    closed = _closed()
    found = [
        Rental(rented[slug], hire, _order_by(hire.first, rented[slug].lead_days, closed))
        for (slug, unit), days in needed.items()
        if slug in rented
        for hire in hires_of(days, least=rented[slug].least_days, worked=worked[slug, unit])
    ]
    return tuple(sorted(found, key=lambda rental: (rental.hire.first, rental.machine.name)))


def _closed() -> frozenset[date]:
    """Days off of the whole company: nobody of the office is there to order."""
    rows = TimeOff.objects.filter(crew=None, member=None, machine=None)
    return frozenset(day for row in rows for day in _days(row.first, row.last))


def _order_by(first: date, ahead: int, closed: Collection[date]) -> date:
    """So many working days of the house ahead of the first on hire."""
    day, left = first, ahead
    while left:
        day -= DAY
        left -= day.weekday() < WEEKEND and day not in closed
    return day


def total(rentals: Iterable[Rental]) -> Decimal | None:
    """Return about how much all stretches cost; None where no price is told of any."""
    costs = [rental.cost for rental in rentals if rental.cost is not None]
    return sum(costs[1:], costs[0]) if costs else None


def _days(first: date, last: date) -> list[date]:
    return [first + n * DAY for n in range((last - first).days + 1)]
