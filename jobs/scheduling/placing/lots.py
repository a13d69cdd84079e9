"""What each work draws on, by number, read once per world: for loops that place works again and again."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain, combinations, islice, product
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.kernel import order_of

from .halves import half_days, spreader
from .held_back import held_back
from .ways import Halves, Way

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence

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

Stack = tuple[int, int, int]
"""Of several that are alike: the first bitmap, units there are, units drawn."""


class Drawn(NamedTuple):
    """Pools a work draws on, as ``Lots`` has them."""

    full: tuple[int, ...]
    single: tuple[int, ...]
    stacks: tuple[Stack, ...]


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
        Pools it draws on: of one unit, and of more.
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
    stacks: list[tuple[Stack, ...]]
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
        self.draws: dict[Hashable, Drawn] = {}
        self.pools: dict[Pool, tuple[int, int]] = {}
        self.opened: dict[tuple[int, int], Opened] = {}
        self.hands: dict[tuple[str, Shift, str], dict[str, Hand]] = {}
        self.crews: dict[str, dict[str, Halves]] = {}
        self.choices: dict[Units, list[Choice]] = {}
        self.alike = {name for name in ready.world.machines if alike(ready, name)}
        axis = ready.world.axis
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
        drawn = [self.drawn(work) for work in ready.works]
        ground = [bool(d.ways or d.work.treads or d.work.keepouts) for d in demands]
        after = held_back(ready)
        place = {i: n for n, i in enumerate(order_of(after))}
        pairs = sorted(
            ((i, j) for i, found in enumerate(after) for j in found), key=lambda p: place[p[1]]
        )
        return Lots(
            ways=[tuple(self.ways(i)) for i in range(len(demands))],
            full=[found.full for found in drawn],
            single=[found.single for found in drawn],
            stacks=[found.stacks for found in drawn],
            into=ready.pulls,
            late=ready.late,
            first=pairs,
            hasty=frozenset((i, b.after) for i, binds in enumerate(ready.back) for b in binds),
            slow=[
                found or self.far or any(o.binds for o in options[:1])
                for found, options in zip(ground, ready.options, strict=True)
            ],
            ground=[found or self.far for found in ground],
            spread=spreader(self.halves, ready.size),
            facts={i: self.fact(ready.works[i], at) for i, at in ready.fixed.items()},
            crews=self.crews,
            axis=ready.world.axis,
            size=self.size,
        )

    def drawn(self, work: Work) -> Drawn:
        """Every pool a work draws on; works that draw on the same share it."""
        machines = work.machines if work.done is None or work.done.end is None else {}
        place = (work.job, work.place, work.shift) if work.crews else ()
        key = place, tuple(machines.items())
        found = self.draws.get(key)
        if found is None:
            pools = [*self.machines(machines), *self.rooms(work)]
            found = self.draws[key] = Drawn(
                tuple([first + count - units for first, count, units in pools]),
                tuple([first for first, count, _ in pools if count == 1]),
                tuple([pool for pool in pools if pool[1] > 1]),
            )
        return found

    def machines(self, wanted: Mapping[str, int]) -> Iterator[Stack]:
        """Machines of which any unit will do."""
        for name, units in wanted.items():
            if name in self.alike:
                yield *self.pool(self.count(name), "machine", name), units

    def rooms(self, work: Work) -> Iterator[Stack]:
        """Yard and zone of a crew's work; what has room for every crew there is needs no count."""
        world = self.ready.world
        if not work.crews:
            return
        most = world.jobs[work.job].crews
        if most < len(world.crews):
            yield *self.pool(most, "yard", work.job, work.shift), 1
        room = world.places[work.place].crews if work.place else None
        if room is not None and room < len(world.crews):
            yield *self.pool(room, "zone", work.place, work.shift), 1

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
        choices = self.units(work)
        hands = self.hands.setdefault((work.job, work.shift, work.lent), {})
        for option in self.ready.options[i]:
            crew, length, calendar, _ = option
            keys, halves = hands.get(crew) or self.hand(work, crew)
            for units, own, opened in choices:
                slots = self.opened.get((id(calendar), opened))
                padded, rank, both = slots or self.narrow(calendar, opened)
                yield Way(
                    padded, rank, length, keys + own, both.bits, halves, day, option, both, units
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
