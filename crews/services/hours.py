"""Working hours as plain data: who can work when, and which machines there are."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from crews.models import Crew, Loan, Machine, TimeOff

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from crews.models import CrewMember, CrewSkill

OFF, ALL_DAY = 0, 15
SATURDAY = 5


@dataclass(frozen=True, slots=True)
class CrewHours:
    """One crew, day by day.

    ``masks`` has one four-bit mask of day slots a day (first slot lowest), 0 on days off and
    company holidays. ``people`` are those present each day: the members less their time off and those
    lent to others, and who is lent to this crew. ``able`` says for each skill how many of them can do
    it, day by day. A crew without named people is taken to be there in full. ``optional`` has the day
    slots of Saturdays that may be asked of it besides. ``gone`` is the number of the first day on which
    it is no longer with us; None if it stays.
    """

    name: str
    masks: list[int]
    people: list[int]
    able: dict[str, list[int]]
    optional: list[int]
    gone: int | None = None


@dataclass(frozen=True, slots=True)
class MachineHours:
    """One machine row: units that can be used each day. Width in tenths of a millimetre.

    ``hire`` is the fewest days paid for each time it is rented; 0 if it is owned. ``gone`` is the
    number of the first day on which no unit is with us any more; None if some stay.
    """

    name: str
    kind: str
    units: list[int]
    width: int | None
    weight_lb: int | None
    hire: int = 0
    gone: int | None = None


@dataclass(frozen=True, slots=True)
class Hours:
    """Crews and machines by slug, and the days on which the whole company is off."""

    crews: dict[str, CrewHours]
    machines: dict[str, MachineHours]
    holidays: frozenset[date]


def working_hours(first: date, last: date, *, with_gone: bool = False) -> Hours:
    """Return the hours of crews and machines from ``first`` to ``last``, both included.

    Whoever was gone by the first day is left out, crews only unless ``with_gone``; whoever goes later has
    no hours from that day on.

    Six queries, however many rows.

    Raises
    ------
    ValueError
        If ``last`` is before ``first``.
    """
    if last < first:
        raise ValueError(f"the last day {last} is before the first day {first}")
    off = _DaysOff(first, last)
    crews = Crew.objects.select_related("week")
    if not with_gone:
        crews = crews.exclude(gone_from__lte=first)
    return Hours(
        crews={
            crew.slug: _crew_hours(crew, off)
            for crew in crews.prefetch_related("members", "skills")
        },
        machines={
            machine.slug: _machine_hours(machine, off)
            for machine in Machine.objects.all()
            if machine.units_on(first) > 0
        },
        holidays=frozenset(off.days[index] for index in off.company),
    )


class _DaysOff:
    """Every time off and loan of the span, by whom it is about, as day indexes from its first day."""

    def __init__(self, first: date, last: date) -> None:
        self.days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
        self.company: set[int] = set()
        self.crews: dict[int, set[int]] = defaultdict(set)
        self.members: dict[int, set[int]] = defaultdict(set)
        self.machines: dict[int, list[range]] = defaultdict(list)
        self.away: dict[int, set[int]] = defaultdict(set)
        self.guests: dict[int, dict[int, set[int]]] = defaultdict(lambda: defaultdict(set))
        for row in TimeOff.objects.filter(first__lte=last, last__gte=first):
            self._add(row, self._span(row.first, row.last))
        loans = Loan.objects.filter(first__lte=last, last__gte=first)
        for loan in loans.select_related("crew", "member__crew"):
            days = self._span(loan.first, loan.until)
            self.away[loan.member_id].update(days)
            self.guests[loan.crew_id][loan.member_id].update(days)

    def _span(self, first: date, last: date) -> range:
        begin = self.days[0]
        return range(max(0, (first - begin).days), min((last - begin).days + 1, len(self.days)))

    def _add(self, row: TimeOff, days: range) -> None:
        if row.crew_id is not None:
            self.crews[row.crew_id].update(days)
        elif row.member_id is not None:
            self.members[row.member_id].update(days)
        elif row.machine_id is not None:
            self.machines[row.machine_id].append(days)
        else:
            self.company.update(days)

    def since(self, day: date | None) -> int | None:
        """Number of the first day on which somebody is gone; None if not within the span."""
        if day is None or day > self.days[-1]:
            return None
        return max(0, (day - self.days[0]).days)

    def shut(self, crew: Crew) -> set[int]:
        """Days on which nobody of a crew works: holidays, its days off, and all since it is gone."""
        gone = self.since(crew.gone_from)
        later = range(len(self.days) if gone is None else gone, len(self.days))
        return self.company | self.crews.get(crew.pk, set()) | set(later)

    def here(self, member: CrewMember) -> list[bool]:
        """For each day, whether somebody works with his or her own crew."""
        gone = self.members[member.pk] | self.away[member.pk]
        return [index not in gone for index in range(len(self.days))]

    def lent(self, crew: Crew) -> list[int]:
        """For each day, how many people of other crews work with this one."""
        counts = [0] * len(self.days)
        for member, days in self.guests[crew.pk].items():
            for index in days - self.members[member]:
                counts[index] += 1
        return counts


def _crew_hours(crew: Crew, off: _DaysOff) -> CrewHours:
    """A crew works its week, but not on its days off nor when every one of its people is off."""
    members = list(crew.members.all())
    here = {member.name: off.here(member) for member in members}
    people = [
        sum(there) + guests for *there, guests in zip(*here.values(), off.lent(crew), strict=True)
    ]
    masks = [crew.week.masks[day.weekday()] for day in off.days]
    for index in off.shut(crew):
        masks[index] = people[index] = OFF
    optional = _saturdays(crew, off, masks, people)
    if members:
        masks = [mask if there else OFF for mask, there in zip(masks, people, strict=True)]
    able = {row.skill: _able(row, here, people) for row in crew.skills.all()}
    return CrewHours(crew.name, masks, people, able, optional, off.since(crew.gone_from))


def _saturdays(crew: Crew, off: _DaysOff, masks: Sequence[int], people: Sequence[int]) -> list[int]:
    """Saturdays free by the week on which nobody said it is off and somebody is there."""
    if not crew.saturdays:
        return [OFF] * len(masks)
    shut = off.shut(crew)
    nameless = not crew.members.all()
    return [
        ALL_DAY
        if day.weekday() == SATURDAY
        and not masks[index]
        and index not in shut
        and (nameless or people[index])
        else OFF
        for index, day in enumerate(off.days)
    ]


def _able(skill: CrewSkill, here: Mapping[str, Sequence[bool]], people: Sequence[int]) -> list[int]:
    """How many of those present can do something, day by day; by name where names are told."""
    if not here:
        return [skill.people or 0] * len(people)
    if skill.names:
        known: Iterable[Sequence[bool]] = (here[name] for name in skill.names if name in here)
        named = [sum(there) for there in zip(*known, strict=True)] or [0] * len(people)
        return [min(count, total) for count, total in zip(named, people, strict=True)]
    most = skill.people
    return list(people) if most is None else [min(most, count) for count in people]


def _machine_hours(machine: Machine, off: _DaysOff) -> MachineHours:
    """Each time off of a machine takes one of its units; a company holiday takes none."""
    units = [machine.units_on(day) for day in off.days]
    for days in off.machines.get(machine.pk, ()):
        for index in days:
            units[index] = max(0, units[index] - 1)
    hire = machine.least_days if machine.rented else 0
    gone = off.since(machine.gone_from)
    return MachineHours(
        machine.name, machine.kind, units, machine.width, machine.weight_lb, hire, gone
    )
