"""Who and what there is to work with, on the axis of a plan: crews, machines, and how strong a crew is."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.calendars import usual_week, week_mask
from jobs.scheduling.world import Crew, Machine
from jobs.trade.strength import Strength, strength_of, together
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from crews.services.hours import CrewHours, Hours
    from jobs import models
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Work


HIRED = "hired/"
"""Begins the id of whoever is hired for one work; no slug of a crew has a slash."""
WHOEVER = "whoever is hired"
FOR_GOOD = 28
"""Days at the end of the axis on which a crew must once be able to do a work to count on for good."""


class Able(NamedTuple):
    """How strong a crew is for a work, the slots it loses, and the day from which it cannot do it; None if it can."""

    strength: Strength
    lost: int
    until: int | None


def hired_for(work: str) -> str:
    """Return the id, among crews, of whoever is hired for a work."""
    return f"{HIRED}{work}"


@dataclass(frozen=True, slots=True)
class Hands:
    """Crews and machines as the planner reads them, by the hours they keep."""

    axis: SlotAxis
    """Any of the axes of the jobs: all have the same days and positions."""
    hours: Hours
    today: int
    """Number of the first day of the axis that can still be planned."""
    now: int
    """The first slot of the axis that can still be planned."""
    _able: dict[tuple[str, str, str, int, int], Able | None] = field(
        default_factory=dict, init=False, repr=False
    )

    def office(self, axis: SlotAxis) -> int:
        """Slots in which people who are not ours work: weekdays that are no holidays."""
        return week_mask(axis, usual_week(axis), closed=self.hours.holidays)

    def crew(self, slug: str) -> Crew:
        """A crew works its day slots, and may do a dawn or evening shift on a day it works."""
        crew = self.hours.crews[slug]
        return Crew(slug, crew.name, self._bits(crew.masks), self._bits(crew.optional))

    def hired(
        self,
        works: Iterable[Work],
        activities: Mapping[str, models.Activity],
        finding: Callable[[], int],
    ) -> dict[str, Crew]:
        """Whoever is hired for a work: there on weekdays that are no holidays, once no crew is left for it.

        Where nobody has been hired yet, somebody is to be found first: that takes so many of these days as
        ``finding`` says, which is asked once there is such a work.
        """
        full, found = (1 << self.axis.per_day) - 1, dict[str, Crew]()
        week = week_mask(self.axis, [full] * 5 + [0, 0], closed=self.hours.holidays)
        by = cache(lambda: self._found(week, finding()))
        for work in works:
            slug = hired_for(work.id)
            if slug in work.crews:
                left = [self.able(it, activities[work.id]) for it in work.crews if it != slug]
                since = max((one.until or 0 for one in left if one), default=0)
                if not activities[work.id].by_others:
                    since = max(since, by())
                begins = since * self.axis.per_day
                found[slug] = Crew(slug, WHOEVER, week >> begins << begins, hired=True)
        return found

    def _found(self, week: int, days: int) -> int:
        """Number of the day by which somebody is found: so many of a week's days after today."""
        per_day, day = self.axis.per_day, self.today
        full = (1 << per_day) - 1
        while days and day * per_day < self.axis.size:
            day += 1
            days -= bool(week >> day * per_day & full)
        return day

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

    def owned(self) -> frozenset[str]:
        """Kinds of machines of which a unit will still be with us on a day that can be planned."""
        rows = self.hours.machines.values()
        return frozenset(it.kind for it in rows if it.gone is None or it.gone > self.today)

    def stays(self, kind: str) -> int:
        """How many units of a kind of machine are there for good."""
        return sum(it.units[-1] for it in self.hours.machines.values() if it.kind == kind)

    def machines(self, works: Iterable[Work]) -> dict[str, Machine]:
        """All units of one kind are one machine with a count; a down day shuts a unit.

        From the day on which the last one of a kind is gone it is hired, like every kind nobody owns: as
        many units as all crews at once can need are open from then on.
        """
        owned, most = self.owned(), dict[str, int]()
        for kind, count in (need for work in works for need in work.machines.items()):
            most[kind] = max(count, most.get(kind, 0))
        full = (1 << self.axis.per_day) - 1
        units: dict[str, list[int]] = {}
        names: dict[str, str] = {}
        hire: dict[str, list[int]] = {}
        for machine in (it for it in self.hours.machines.values() if it.kind in owned):
            names.setdefault(machine.kind, machine.name)
            for unit in range(max(machine.units, default=0)):
                bits = 0
                for day, count in enumerate(machine.units):
                    if unit < count:
                        bits |= full << (day * self.axis.per_day)
                units.setdefault(machine.kind, []).append(bits)
                hire.setdefault(machine.kind, []).append(machine.hire)
        for kind, gone in self._hired_from(owned).items():
            before = (1 << gone * self.axis.per_day) - 1
            opened = ((1 << self.axis.size) - 1) & ~before
            more = len(self.hours.crews) * most.get(kind, 0)
            units[kind] += [opened] * more
            hire[kind] += [0] * more
        return {
            kind: Machine(kind, names[kind], tuple(bits), tuple(hire[kind]))
            for kind, bits in units.items()
        }

    def _hired_from(self, owned: Iterable[str]) -> dict[str, int]:
        """Number of the day from which a kind is hired, for those of which every unit will be gone."""
        stays = {it.kind for it in self.hours.machines.values() if it.gone is None}
        ends: dict[str, int] = {}
        for machine in self.hours.machines.values():
            if machine.gone is not None:
                ends[machine.kind] = max(machine.gone, ends.get(machine.kind, 0))
        return {kind: day for kind, day in ends.items() if kind in owned and kind not in stays}

    def leaves_before(self, slug: str, slots: int) -> bool:
        """True if a crew will be gone before it has worked so many slots from today on."""
        crew = self.hours.crews.get(slug)
        return crew is None or (crew.gone is not None and slots > self._worked(crew, crew.gone))

    def machine_leaves(self, kind: str, crew: str, slots: int) -> bool:
        """True if the last machine of a kind will be gone before a crew has worked so many slots."""
        gone, hours = self._hired_from((kind,)).get(kind), self.hours.crews.get(crew)
        return gone is not None and hours is not None and slots > self._worked(hours, gone)

    def _worked(self, crew: CrewHours, until: int) -> int:
        """Day slots that a crew works from now to the day before ``until``."""
        days = range(self.today, until)
        slots = [self._day_slots(crew.masks[day]) << day * self.axis.per_day for day in days]
        return sum((bits >> self.now).bit_count() for bits in slots)

    def lent(self, activity: models.Activity) -> str:
        """Return the crew lent to a work, if it can help: it stays, is able, and not on it by itself."""
        crew = activity.lent
        if crew is None or crew.slug not in self.hours.crews:
            return ""
        if self.hours.crews[crew.slug].gone is not None:
            return ""
        begun = activity.started_at is not None and activity.done_crew_id == crew.pk
        return "" if begun or activity.skill not in self.hours.crews[crew.slug].able else crew.slug

    def able(self, slug: str, activity: models.Activity) -> Able | None:
        """Return how able a crew is to do a work, at most half as many people as usual more; None if it never is."""
        crew, lent = self.hours.crews[slug], self.lent(activity)
        most = activity.people + activity.people // 2
        key = (slug, lent, activity.skill, activity.least, most)
        if activity.skill not in crew.able or self.leaves_before(slug, 1):
            return None
        if key not in self._able:
            able: Sequence[int] = crew.able[activity.skill]
            worked = [mask | more for mask, more in zip(crew.masks, crew.optional, strict=True)]
            if lent:
                able = together(able, self.hours.crews[lent].able[activity.skill])
            found = strength_of(able, worked, least=activity.least, most=most, since=self.today)
            self._able[key] = (
                None if found is None else Able(found, self._lost(found), _until(found, worked))
            )
        return self._able[key]

    def _lost(self, strength: Strength) -> int:
        """Slots of slower days by day; days with too few people altogether."""
        full = (1 << self.axis.per_day) - 1
        slots = {mask: self._day_slots(mask) for mask in set(strength.lost)}
        bits = 0
        for day, mask in enumerate(strength.lost):
            closed = full if day in strength.barred else slots[mask]
            bits |= closed << (day * self.axis.per_day)
        return bits


def _until(strength: Strength, worked: Sequence[int]) -> int | None:
    """Number of the day after the last on which people enough are there; None if they stay."""
    days = (day for day, mask in enumerate(worked) if mask and day not in strength.barred)
    after = max(days, default=-1) + 1
    return after if after + FOR_GOOD < len(worked) else None
