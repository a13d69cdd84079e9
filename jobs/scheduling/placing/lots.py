"""What each work draws on, by number, read once per world: for loops that place works again and again."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain, combinations, islice, product
from typing import TYPE_CHECKING

from jobs.scheduling.kernel import order_of

from .halves import half_days, spreader
from .held_back import held_back
from .ways import Halves, Way

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from jobs.scheduling.binds import Bind, Pull
    from jobs.scheduling.calendars import Calendar
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Work
    from jobs.trade.work import Shift

    from .demands import Demand
    from .ways import Units

Pool = tuple[str, ...]
Hand = tuple[tuple[int, ...], "tuple[Halves, ...]"]
"""Bitmaps of what is held alone, and the halves of each crew held."""

Choice = tuple["Units", tuple[int, ...], int]
"""Machine units that are not alike, their bitmaps, and the slots open to all units held."""
Opened = tuple[tuple[int, ...], tuple[int, ...], "Calendar"]
"""Open slots and ranks as a ``Way`` has them, and the calendar they are of."""

MOST_CHOICES = 60
"""Choices of machine units looked at per work, where no two are alike."""


@dataclass(frozen=True, slots=True)
class Lots:
    """The reading of a world.

    Attributes
    ----------
    size
        How many bitmaps there are.
    ways
        For each work who may do it, with which units of their own.
    full
        Bitmaps in which a bit says that there is no room for the work whoever does it.
    single, stacks
        Pools it draws on: of one unit, and (first bitmap, units there are, units drawn).
    into, late
        Links into each work, and those with an at-most.
    first
        Pairs of works of which one must be placed before the other, forerunners first.
    hasty
        Pairs of which the second comes right after the first.
    slow
        True for works that ground, ways in, drives or own-time waits concern.
    ground
        True for works that tread or rest ground, or haul through a way in.
    facts
        Bitmaps held alone by what has begun, and the halves of its crews.
    crews
        Halves of each crew in each of its yards.
    """

    size: int
    ways: list[tuple[Way, ...]]
    full: list[tuple[int, ...]]
    single: list[tuple[int, ...]]
    stacks: list[tuple[tuple[int, int, int], ...]]
    into: list[tuple[Pull, ...]]
    late: list[tuple[Bind, ...]]
    first: list[tuple[int, int]]
    hasty: frozenset[tuple[int, int]]
    slow: list[bool]
    ground: list[bool]
    spread: Callable[[int], int]
    facts: dict[int, Hand]
    crews: Mapping[str, Mapping[str, Halves]]
    axis: SlotAxis


def alike(ready: Ready, machine: str) -> bool:
    """Return True if the units of a machine are open in the same slots: any will do."""
    return len(set(ready.world.machines[machine].open)) == 1


def lots_of(ready: Ready, demands: Sequence[Demand]) -> Lots:
    """Read a world for placing works in any order."""
    return _Reader(ready, demands).read()


class _Reader:
    def __init__(self, ready: Ready, demands: Sequence[Demand]) -> None:
        self.ready, self.demands, self.size = ready, demands, 0
        self.alone: dict[Pool, int] = {}
        self.pools: dict[Pool, tuple[int, int]] = {}
        self.opened: dict[tuple[int, int], Opened] = {}
        self.hands: dict[tuple[str, Shift, str], dict[str, Hand]] = {}
        self.crews: dict[str, dict[str, Halves]] = {}
        self.choices: dict[Units, list[Choice]] = {}
        self.alike = {name for name in ready.world.machines if alike(ready, name)}
        axis = next(iter(ready.world.axes.values()))
        self.halves = half_days(axis)
        self.many = any(len(group) > 1 for group in self.halves) and len(ready.world.jobs) > 1
        self.far = any(job.near is not None for job in ready.world.jobs.values())
        self.most = 1 + max(
            (option.slots for options in ready.options for option in options), default=1
        )

    def key(self, *pool: str) -> int:
        """Number of the bitmap of something that is held alone."""
        if pool not in self.alone:
            self.alone[pool] = self.new(1)
        return self.alone[pool]

    def new(self, count: int) -> int:
        self.size += count
        return self.size - count

    def pool(self, count: int, *pool: str) -> tuple[int, int]:
        """First bitmap and count of something of which there are several alike."""
        if pool not in self.pools:
            self.pools[pool] = self.new(count), count
        return self.pools[pool]

    def read(self) -> Lots:
        ready, demands = self.ready, self.demands
        drawn = [list(self.drawn(demand)) for demand in demands]
        ground = [bool(d.ways or d.work.treads or d.work.keepouts) for d in demands]
        after = held_back(ready)
        place = {i: n for n, i in enumerate(order_of(after))}
        pairs = sorted(
            ((i, j) for i, found in enumerate(after) for j in found), key=lambda p: place[p[1]]
        )
        return Lots(
            ways=[tuple(self.ways(i)) for i in range(len(demands))],
            full=[tuple(first + count - units for first, count, units in found) for found in drawn],
            single=[tuple(first for first, count, _ in found if count == 1) for found in drawn],
            stacks=[tuple(found for found in pools if found[1] > 1) for pools in drawn],
            into=ready.pulls,
            late=ready.late,
            first=pairs,
            hasty=frozenset((i, b.after) for i, binds in enumerate(ready.back) for b in binds),
            slow=[
                ground[i] or self.far or any(o.binds for o in ready.options[i])
                for i in range(len(demands))
            ],
            ground=[found or self.far for found in ground],
            spread=spreader(self.halves, ready.size),
            facts={i: self.fact(ready.works[i], at) for i, at in ready.fixed.items()},
            crews=self.crews,
            axis=next(iter(ready.world.axes.values())),
            size=self.size,
        )

    def drawn(self, demand: Demand) -> Iterator[tuple[int, int, int]]:
        """Every pool a work draws on: first bitmap, units there are, units drawn.

        Work that is over draws on no machine; what has room for every crew there is needs no count.
        """
        world, done = self.ready.world, demand.work.done
        for name, units in demand.work.machines.items():
            if name in self.alike and (done is None or done.end is None):
                yield *self.pool(len(world.machines[name].open), "machine", name), units
        for key, room in demand.rooms:
            if room < len(world.crews):
                yield *self.pool(room, *map(str, key)), 1

    def fact(self, work: Work, at: Placement) -> Hand:
        """What a work that has begun holds alone, and the halves of its crews."""
        units = [self.key("unit", name, str(unit)) for name, unit in at.machines]
        keys, halves = self.hand(work, at.crew)
        return (*keys, *units), halves

    def hand(self, work: Work, crew: str) -> Hand:
        """What the crews of a work hold alone, and their halves in its yard; works that are alike share it."""
        hands = self.hands.setdefault((work.job, work.shift, work.lent), {})
        if crew not in hands:
            keys = tuple(self.key("crew", held, work.shift) for held in work.held_by(crew))
            halves = [self.halves_in(held, work.job) for held in work.held_by(crew)]
            hands[crew] = keys, tuple(halves) if self.many else ()
        return hands[crew]

    def halves_in(self, crew: str, job: str) -> Halves:
        yards = self.crews.setdefault(crew, {})
        if job not in yards:
            given = self.key("given", crew)
            yards[job] = Halves(given, self.new(1), self.new(1))
        return yards[job]

    def ways(self, i: int) -> Iterator[Way]:
        """Who may do a work with which units of their own; of units that are alike any will do."""
        work, day = self.ready.works[i], self.demands[i].day
        options, choices = self.ready.options[i], self.units(work)
        hands = self.hands.setdefault((work.job, work.shift, work.lent), {})
        for option in options:
            keys, halves = hands.get(option.crew) or self.hand(work, option.crew)
            for units, own, opened in choices:
                slots = self.opened.get((id(option.calendar), opened))
                padded, rank, calendar = slots or self.narrow(option.calendar, opened)
                yield Way(
                    padded,
                    rank,
                    option.slots,
                    keys + own,
                    calendar.bits,
                    halves,
                    day,
                    option,
                    calendar,
                    units,
                )

    def units(self, work: Work) -> list[Choice]:
        """Every choice of units that are not alike, their bitmaps, and the slots open to all units held."""
        wanted = tuple(work.machines.items())
        if wanted not in self.choices:
            each = [
                combinations([(name, unit) for unit in range(self.count(name))], count)
                for name, count in wanted
                if name not in self.alike
            ]
            usual = self.both(-1, [(name, 0) for name, _ in wanted if name in self.alike])
            found = self.choices[wanted] = []
            for choice in islice(product(*each), MOST_CHOICES):
                units = tuple(chain.from_iterable(choice))
                own = tuple(self.key("unit", name, str(unit)) for name, unit in units)
                found.append((units, own, self.both(usual, units)))
        return self.choices[wanted]

    def count(self, machine: str) -> int:
        return len(self.ready.world.machines[machine].open)

    def both(self, opened: int, units: Iterable[tuple[str, int]]) -> int:
        """Slots that are open to all units as well."""
        for name, unit in units:
            opened &= self.ready.world.machines[name].open[unit]
        return opened

    def narrow(self, calendar: Calendar, opened: int) -> Opened:
        """Leave in a calendar what is open to machines too, with room at the ends of its look-ups."""
        both = self.ready.calendar(calendar.bits & opened) if calendar.bits & ~opened else calendar
        padded = both.open + (both.size,) * (self.most + 1)
        found = self.opened[id(calendar), opened] = padded, (*both.rank, both.rank[-1]), both
        return found
