"""What each work draws on, by number, read once per world: for loops that place works again and again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.kernel import order_of

from .builder import held_back
from .demands import Choice, demands_of
from .halves import half_days, spreader

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from jobs.scheduling.calendars import Calendar
    from jobs.scheduling.ready import Bind, Lookup, Option, Ready
    from jobs.scheduling.result import Placement
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Work

    from .demands import Demand

Pool = tuple[str, ...]


class Way(NamedTuple):
    """A crew with certain machine units, and the slots open to all of them.

    Attributes
    ----------
    opened, rank
        As in ``Calendar``, ``opened`` with room at its end so that nothing need be asked there.
    keys
        Bitmaps of what is held alone: the crew on this shift, units that are like no other.
    hours, own
        Bitmaps of the slots the crew works, and works for this yard; -1 where halves of days do not matter.
    lent
        The same two of a crew lent to the work.
    """

    opened: tuple[int, ...]
    rank: tuple[int, ...]
    slots: int
    keys: tuple[int, ...]
    bits: int
    hours: int
    own: int
    choice: Choice
    units: tuple[tuple[str, int], ...]
    lent: tuple[int, int] | None = None

    @property
    def option(self) -> Option:
        """Crew and duration."""
        return self.choice.option


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
        Links into each work as (before, from finish, to finish, earliest), and those with an at-most.
    first
        Pairs of works of which one must be placed before the other, forerunners first.
    hasty
        Pairs of which the second comes right after the first.
    slow
        True for works that ground, ways in, halves of days, drives or own-time waits concern.
    ground
        True for works that tread or rest ground, or haul through a way in.
    """

    size: int
    ways: list[tuple[Way, ...]]
    full: list[tuple[int, ...]]
    single: list[tuple[int, ...]]
    stacks: list[tuple[tuple[int, int, int], ...]]
    day: list[int]
    into: list[tuple[tuple[int, bool, bool, Lookup], ...]]
    late: list[tuple[Bind, ...]]
    first: list[tuple[int, int]]
    hasty: frozenset[tuple[int, int]]
    slow: list[bool]
    ground: list[bool]
    spread: Callable[[int], int]
    alone: dict[Pool, int]
    pools: dict[Pool, tuple[int, int]]
    axis: SlotAxis

    def fact_keys(self, work: Work, at: Placement) -> Iterator[int]:
        """Bitmaps held by a work that has begun."""
        wanted: list[Pool] = [("crew", crew, str(work.shift)) for crew in work.held_by(at.crew)]
        wanted += [("unit", name, str(unit)) for name, unit in at.machines]
        yield from (self.alone[key] for key in wanted if key in self.alone)

    def fact_hours(self, work: Work, at: Placement) -> Iterator[int]:
        """Bitmaps of the hours of the crew of a work that has begun."""
        wanted: list[Pool] = [("hours", crew) for crew in work.held_by(at.crew)]
        wanted += [("own", crew, work.job) for crew in work.held_by(at.crew)]
        yield from (self.alone[key] for key in wanted if key in self.alone)


def alike(ready: Ready, machine: str) -> bool:
    """Return True if the units of a machine are open in the same slots: any will do."""
    return len(set(ready.world.machines[machine].open)) == 1


def lots_of(ready: Ready) -> Lots:
    """Read a world for placing works in any order."""
    return _Reader(ready).read()


class _Reader:
    def __init__(self, ready: Ready) -> None:
        self.ready, self.size = ready, 0
        self.alone: dict[Pool, int] = {}
        self.pools: dict[Pool, tuple[int, int]] = {}
        self.padded: dict[int, tuple[tuple[int, ...], tuple[int, ...]]] = {}
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
        ready = self.ready
        demands = demands_of(ready)
        drawn = [list(self.drawn(demand)) for demand in demands]
        ground = [bool(d.ways or d.work.treads or d.work.keepouts) for d in demands]
        after = held_back(ready)
        place = {i: n for n, i in enumerate(order_of(after))}
        pairs = sorted(
            ((i, j) for i, found in enumerate(after) for j in found), key=lambda p: place[p[1]]
        )
        return Lots(
            ways=[tuple(self.ways(demand)) for demand in demands],
            full=[tuple(first + count - units for first, count, units in found) for found in drawn],
            single=[tuple(first for first, count, _ in found if count == 1) for found in drawn],
            stacks=[tuple(found for found in pools if found[1] > 1) for pools in drawn],
            day=[demand.day for demand in demands],
            into=[
                tuple((b.before, b.from_finish, b.to_finish, b.earliest) for b in binds)
                for binds in ready.into
            ],
            late=[self.late(i) for i in range(len(demands))],
            first=pairs,
            hasty=frozenset((i, b.after) for i, binds in enumerate(ready.back) for b in binds),
            slow=[
                ground[i] or self.many or self.far or any(o.binds for o in ready.options[i])
                for i in range(len(demands))
            ],
            ground=[found or self.far for found in ground],
            spread=spreader(self.halves, ready.size),
            alone=self.alone,
            pools=self.pools,
            axis=next(iter(ready.world.axes.values())),
            size=self.size,
        )

    def drawn(self, demand: Demand) -> Iterator[tuple[int, int, int]]:
        """Every pool a work draws on: first bitmap, units there are, units drawn.

        Work that is over draws on no machine; what has room for every crew there is needs no count.
        """
        world, done = self.ready.world, demand.work.done
        for name, units in demand.work.machines.items():
            if alike(self.ready, name) and (done is None or done.end is None):
                yield *self.pool(len(world.machines[name].open), "machine", name), units
        for key, room in demand.rooms:
            if room < len(world.crews):
                yield *self.pool(room, *map(str, key)), 1

    def late(self, i: int) -> tuple[Bind, ...]:
        """Links with an at-most into a work."""
        binds = [bind for bind in self.ready.into[i] if bind.latest is not None]
        for option in self.ready.options[i][:1]:
            binds += [bind for bind in option.binds if bind.latest is not None]
        return tuple(binds)

    def ways(self, demand: Demand) -> Iterator[Way]:
        """Who may do a work with which units; of units that are alike any will do."""
        seen: set[tuple[object, ...]] = set()
        for choice in demand.choices:
            own = tuple(unit for unit in choice.units if not alike(self.ready, unit[0]))
            if (choice.option.crew, own) not in seen:
                seen.add((choice.option.crew, own))
                yield self.way(demand.work, choice, own)

    def way(self, work: Work, choice: Choice, units: Sequence[tuple[str, int]]) -> Way:
        crew, calendar = choice.option.crew, choice.calendar
        keys = [self.key("crew", held, work.shift) for held in work.held_by(crew)]
        keys += [self.key("unit", name, str(unit)) for name, unit in units]
        hours = own = -1
        lent = None
        if crew and self.many:
            hours = self.key("hours", crew)
            own = self.key("own", crew, work.job)
            if work.lent:
                lent = self.key("hours", work.lent), self.key("own", work.lent, work.job)
        opened, rank = self.pad(calendar)
        slots = choice.option.slots
        return Way(
            opened, rank, slots, tuple(keys), calendar.bits, hours, own, choice, tuple(units), lent
        )

    def pad(self, calendar: Calendar) -> tuple[tuple[int, ...], tuple[int, ...]]:
        found = self.padded.get(id(calendar))
        if found is None:
            opened = calendar.open + (calendar.size,) * (self.most + 1)
            found = self.padded[id(calendar)] = opened, (*calendar.rank, calendar.rank[-1])
        return found
