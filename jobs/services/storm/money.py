"""About how much more or less a way out costs than the published plan: rent of machines, Saturdays asked for.

What owners have signed is no cost of a way: it is owed whichever is accepted, and told beside them all.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from crews.models import Crew, Machine
from jobs import models
from jobs.scheduling.rentals import hires_of
from jobs.services.causes.put import CHANGE_ORDER
from jobs.services.telling.speech import dollars
from jobs.services.world.plan_rows import machine_units

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import date

    from jobs.scheduling.result import Placement
    from jobs.scheduling.storm.ways_out import WayOut
    from jobs.services.causes.moved import Pending
    from jobs.services.world.planning import Planning

    from .offer import Weather


@dataclass(frozen=True, slots=True)
class Prices:
    """Rented machines with a price, and what a Saturday of each crew costs, by slug."""

    machines: Mapping[str, Machine]
    saturdays: Mapping[str, Decimal]

    def more(self, weather: Weather, found: WayOut) -> int | None:
        """Return the dollars by which a way out is dearer; None where no price is told at all."""
        if not self.machines and not self.saturdays:
            return None
        planning = weather.planning
        rent = self._rent(planning, found.result.plan.placements)
        rent -= self._rent(planning, weather.storm.published)
        days = sum(
            (self._saturday(planning, *asked) for asked in found.lines.saturdays), Decimal(0)
        )
        before = [self.saturdays.get(one["crew"]) for one in weather.published.overtime]
        return round(rent + days - sum((price for price in before if price), Decimal(0)))

    def _rent(self, planning: Planning, placed: Mapping[str, Placement]) -> Decimal:
        units = machine_units(planning)
        needed: dict[tuple[str, int], set[date]] = defaultdict(set)
        for name, at in placed.items():
            if name in planning.world.works:
                days = set(_days(planning, name, at))
                for kind, unit in at.machines:
                    if unit < len(units[kind]):
                        needed[units[kind][unit], unit] |= days
        return sum(
            (
                price * hire.paid
                for (slug, _), days in needed.items()
                if slug in self.machines and (price := self.machines[slug].day_price) is not None
                for hire in hires_of(days, least=self.machines[slug].least_days)
            ),
            Decimal(0),
        )

    def _saturday(self, planning: Planning, crew: str, day: date) -> Decimal:
        """A Saturday costs only where the crew does not work it anyway."""
        axis = planning.world.axis
        asked = planning.world.crews[crew].optional >> axis.slot(day) & ((1 << axis.per_day) - 1)
        return self.saturdays.get(crew, Decimal(0)) if asked else Decimal(0)


def read_prices() -> Prices:
    """Read what is priced, two queries."""
    machines = Machine.objects.filter(rented=True, active=True, day_price__isnull=False)
    crews = Crew.objects.filter(saturdays=True, saturday_price__isnull=False)
    return Prices(
        {machine.slug: machine for machine in machines},
        {crew.slug: crew.saturday_price for crew in crews if crew.saturday_price is not None},
    )


def read_owed(causes: Iterable[Pending]) -> list[models.ChangeOrder]:
    """Return the signed change orders with an amount among what waits for a plan; one query if there are any."""
    changes = [cause.change for cause in causes if cause.change is not None]
    waiting = [change.row for change in changes if change.table == CHANGE_ORDER]
    if not waiting:
        return []
    rows = models.ChangeOrder.objects.filter(pk__in=waiting, amount__isnull=False)
    return list(rows.select_related("job"))


def say_owed(owed: Iterable[models.ChangeOrder]) -> str:
    """Return what was signed for, in words; nothing where nothing is owed."""
    amounts = [order.amount for order in owed if order.amount is not None]
    if not amounts:
        return ""
    many = "a change order" if len(amounts) == 1 else f"{len(amounts)} change orders"
    total = dollars(sum(amounts, Decimal(0)))
    return f"besides {total} signed for on {many}, whichever way is accepted"


def say_money(dollars: int | None) -> str:
    """Return a difference in words."""
    if dollars is None:
        return "no prices to reckon with"
    if not dollars:
        return "about the same"
    return f"about ${abs(dollars):,} {'more' if dollars > 0 else 'less'}"


def _days(planning: Planning, name: str, at: Placement) -> Iterator[date]:
    """Days on which a work holds its machines."""
    axis = planning.world.axes[planning.world.jobs[planning.world.works[name].job].zone]
    day, last = axis.day(at.start), axis.day(at.end)
    while day <= last:
        yield day
        day += timedelta(days=1)
