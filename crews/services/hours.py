"""Working hours as plain data: who can work when, and which machines there are."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from crews.models import Crew, Machine, TimeOff

if TYPE_CHECKING:
    from datetime import time

OFF = 0


@dataclass(frozen=True, slots=True)
class CrewHours:
    """One crew, day by day.

    ``masks`` has one four-bit mask of day slots a day (first slot lowest), 0 on days off and
    company holidays. ``people`` are those present each day: the members less their time off.
    ``skills`` says with how many of its people the crew does something; None is all of them.
    """

    name: str
    masks: list[int]
    people: list[int]
    skills: dict[str, int | None]
    starts: time


@dataclass(frozen=True, slots=True)
class MachineHours:
    """One machine row: units that can be used each day. Width in tenths of a millimetre."""

    name: str
    kind: str
    units: list[int]
    width: int | None
    weight_lb: int | None


@dataclass(frozen=True, slots=True)
class Hours:
    """Active crews and machines by slug, and the days on which the whole company is off."""

    crews: dict[str, CrewHours]
    machines: dict[str, MachineHours]
    holidays: frozenset[date]


def working_hours(first: date, last: date) -> Hours:
    """Return the hours of every active crew and machine from ``first`` to ``last``, both included.

    Five queries, however many rows.

    Raises
    ------
    ValueError
        If ``last`` is before ``first``.
    """
    if last < first:
        raise ValueError(f"the last day {last} is before the first day {first}")
    off = _DaysOff(first, last)
    crews = Crew.objects.filter(active=True).select_related("week")
    return Hours(
        crews={
            crew.slug: _crew_hours(crew, off)
            for crew in crews.prefetch_related("members", "skills")
        },
        machines={
            machine.slug: _machine_hours(machine, off)
            for machine in Machine.objects.filter(active=True)
        },
        holidays=frozenset(off.days[index] for index in off.company),
    )


class _DaysOff:
    """Every time off of the span, by whom it is about, as day indexes from its first day."""

    def __init__(self, first: date, last: date) -> None:
        self.days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
        self.company: set[int] = set()
        self.crews: dict[int, set[int]] = defaultdict(set)
        self.members: dict[int, set[int]] = defaultdict(set)
        self.machines: dict[int, list[range]] = defaultdict(list)
        for row in TimeOff.objects.filter(first__lte=last, last__gte=first):
            self._add(
                row, range(max(0, (row.first - first).days), (min(row.last, last) - first).days + 1)
            )

    def _add(self, row: TimeOff, days: range) -> None:
        if row.crew_id is not None:
            self.crews[row.crew_id].update(days)
        elif row.member_id is not None:
            self.members[row.member_id].update(days)
        elif row.machine_id is not None:
            self.machines[row.machine_id].append(days)
        else:
            self.company.update(days)


def _crew_hours(crew: Crew, off: _DaysOff) -> CrewHours:
    """A crew works its week, but not on its days off nor when every one of its people is off."""
    members = list(crew.members.all())
    people = [len(members)] * len(off.days)
    for member in members:
        for index in off.members.get(member.pk, ()):
            people[index] -= 1
    masks = [crew.week.masks[day.weekday()] for day in off.days]
    for index in off.company | off.crews.get(crew.pk, set()):
        masks[index] = people[index] = OFF
    if members:
        masks = [mask if here else OFF for mask, here in zip(masks, people, strict=True)]
    skills = {row.skill: row.people for row in crew.skills.all()}
    return CrewHours(crew.name, masks, people, skills, crew.starts)


def _machine_hours(machine: Machine, off: _DaysOff) -> MachineHours:
    """Each time off of a machine takes one of its units; a company holiday takes none."""
    units = [machine.count] * len(off.days)
    for days in off.machines.get(machine.pk, ()):
        for index in days:
            units[index] = max(0, units[index] - 1)
    return MachineHours(machine.name, machine.kind, units, machine.width, machine.weight_lb)
