"""Who and what there is to work with, on the axis of a plan: crews, machines, and how strong a crew is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from jobs.scheduling.calendars import usual_week, week_mask
from jobs.scheduling.world import Crew, Machine
from jobs.trade.strength import Strength, strength_of, together
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Sequence

    from crews.services.hours import Hours
    from jobs import models
    from jobs.scheduling.slots import SlotAxis


@dataclass(frozen=True, slots=True)
class Hands:
    """Crews and machines as the planner reads them, by the hours they keep."""

    axis: SlotAxis
    """Any of the axes of the jobs: all have the same days and positions."""
    hours: Hours
    today: int
    """Number of the first day of the axis that can still be planned."""
    _strengths: dict[tuple[str, str, str, int, int], tuple[Strength | None, int]] = field(
        default_factory=dict, init=False, repr=False
    )

    def office(self, axis: SlotAxis) -> int:
        """Slots in which people who are not ours work: weekdays that are no holidays."""
        return week_mask(axis, usual_week(axis), closed=self.hours.holidays)

    def crew(self, slug: str) -> Crew:
        """A crew works its day slots, and may do a dawn or evening shift on a day it works."""
        crew = self.hours.crews[slug]
        return Crew(slug, crew.name, self._bits(crew.masks), self._bits(crew.optional))

    def _bits(self, masks: Sequence[int]) -> int:
        """Day slots a day as a bitmap of the axis; off-shift positions on days with any."""
        day_of = {mask: self._day_bits(mask) for mask in set(masks)}
        bits = 0
        for day, mask in enumerate(masks):
            bits |= day_of[mask] << (day * self.axis.per_day)
        return bits

    def _day_bits(self, mask: int) -> int:
        others = sum(
            1 << index
            for index, position in enumerate(self.axis.positions)
            if position.shift is not Shift.DAY and mask
        )
        return self._day_slots(mask) | others

    def _day_slots(self, mask: int) -> int:
        """Day slots, first lowest, as positions of a day."""
        day = [n for n, p in enumerate(self.axis.positions) if p.shift is Shift.DAY]
        return sum(1 << n for at, n in enumerate(day) if mask >> at & 1)

    def machines(self) -> dict[str, Machine]:
        """All units of one kind are one machine with a count; a down day shuts a unit."""
        full = (1 << self.axis.per_day) - 1
        units: dict[str, list[int]] = {}
        names: dict[str, str] = {}
        hire: dict[str, list[int]] = {}
        for machine in self.hours.machines.values():
            names.setdefault(machine.kind, machine.name)
            for unit in range(max(machine.units, default=0)):
                bits = 0
                for day, count in enumerate(machine.units):
                    if unit < count:
                        bits |= full << (day * self.axis.per_day)
                units.setdefault(machine.kind, []).append(bits)
                hire.setdefault(machine.kind, []).append(machine.hire)
        return {
            kind: Machine(kind, names[kind], tuple(bits), tuple(hire[kind]))
            for kind, bits in units.items()
        }

    def lent(self, activity: models.Activity) -> str:
        """Return the crew lent to a work, if it can help: it is there, able, and not on it by itself."""
        crew = activity.lent
        if crew is None or crew.slug not in self.hours.crews:
            return ""
        begun = activity.started_at is not None and activity.done_crew_id == crew.pk
        return "" if begun or activity.skill not in self.hours.crews[crew.slug].able else crew.slug

    def strength(self, slug: str, activity: models.Activity) -> tuple[Strength | None, int]:
        """Return how strong a crew is for a work, and the slots it loses; at most half as many again."""
        crew, lent = self.hours.crews[slug], self.lent(activity)
        most = activity.people + activity.people // 2
        key = (slug, lent, activity.skill, activity.least, most)
        if activity.skill not in crew.able:
            return None, 0
        if key not in self._strengths:
            able: Sequence[int] = crew.able[activity.skill]
            worked = [mask | more for mask, more in zip(crew.masks, crew.optional, strict=True)]
            if lent:
                able = together(able, self.hours.crews[lent].able[activity.skill])
            found = strength_of(able, worked, least=activity.least, most=most, since=self.today)
            self._strengths[key] = found, 0 if found is None else self._lost(found)
        return self._strengths[key]

    def _lost(self, strength: Strength) -> int:
        """Slots of slower days by day; days with too few people altogether."""
        full = (1 << self.axis.per_day) - 1
        bits = 0
        for day, mask in enumerate(strength.lost):
            closed = full if day in strength.barred else self._day_slots(mask)
            bits |= closed << (day * self.axis.per_day)
        return bits
