"""A plan laid out so that works can be taken out and put back in any order, many thousand times a second.

What is held is one list of whole numbers used as bitmaps; a copy of that list is a way back. A pool
(units of a machine that are alike, a zone, a yard) has one bitmap per unit: bit ``t`` of the k-th is set
when more than k are in use, so the last one needed says where there is no room left. Ground, ways in and
drives are rare and stay in a ``Ledger``, whose rules in ``hurdles`` are asked for the works they concern.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

from jobs.scheduling.binds import raised

from .hurdles import Ground, ground_of, hindrance, jammed
from .ledger import Ledger
from .lots import Lots, lots_of
from .ways import Way

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.scheduling.binds import Bind
    from jobs.scheduling.paths.early import Early
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement

    from .ways import Halves

NOWHERE = -1


Bounds = tuple[int, int, int, int]
Found = tuple[int, int, Way]


class Back(NamedTuple):
    """A way back: everything held, and where some works stood."""

    held: list[int]
    slow: dict[tuple[Any, ...], Any]
    stood: list[tuple[int, int, int, Way | None]]


class Hurdles(NamedTuple):
    """Slots without room whoever does a work, those its ways in are full in, and the ground it needs."""

    base: int
    jam: int
    ground: Ground


BARE = Ground(0, ())


class Board:
    """Where every work stands, and what that takes up.

    Attributes
    ----------
    start, end
        First and last slot of each work, ``NOWHERE`` while it is taken out.
    by
        Who does each work with which units; None for what has begun.
    least
        Early start and end of each work.
    ways
        Who may do each work just now; a search may leave some out for a try.
    """

    def __init__(self, ready: Ready, early: Early) -> None:
        self.ready = ready
        self.ledger = Ledger(ready)
        self.lots: Lots = lots_of(ready, self.ledger.demands)
        self.held = [0] * self.lots.size
        count, self.last_slot, self.last = len(ready.works), ready.size - 1, ready.last
        self.start, self.end = [NOWHERE] * count, [NOWHERE] * count
        self.by: list[Way | None] = [None] * count
        self.ways = list(self.lots.ways)
        self.least = list(zip(early.start, early.end, strict=True))
        self.masks = [(2 << width) - 1 for width in range(ready.size + 1)]
        for i, at in ready.fixed.items():
            self.start[i], self.end[i] = at.start, at.end
            self._hold_fact(i, at)
        self._forbid_shared_halves()
        self._bare = self.mark(i for i in range(count) if i not in ready.fixed)

    def _hold_fact(self, i: int, at: Placement) -> None:
        first = max(at.start, 0)
        span = ((1 << max(at.end + 1 - first, 0)) - 1) << first
        keys, halves = self.lots.facts[i]
        for key in (*keys, *self.lots.single[i]):
            self.held[key] |= span
        self._stack(i, span)
        self._give(halves, span & self.ready.held(i, at).bits)

    def _forbid_shared_halves(self) -> None:
        """Half days that a crew has given to two yards already are for neither of them to take up."""
        for yards in self.lots.crews.values():
            given = shared = 0
            for halves in yards.values():
                shared |= given & self.held[halves.own]
                given |= self.held[halves.own]
            for halves in yards.values():
                self.held[halves.own] &= ~shared

    def clear(self) -> None:
        """Take everything out that has not begun."""
        self.go_back(self._bare._replace(held=self._bare.held[:], slow=dict(self._bare.slow)))

    def mark(self, works: Iterable[int]) -> Back:
        """Return a way back for when only these works are moved."""
        stood = [(i, self.start[i], self.end[i], self.by[i]) for i in works]
        return Back(self.held[:], dict(self.ledger.held), stood)

    def go_back(self, back: Back) -> None:
        """Put everything as it was."""
        self.held = back.held
        self.ledger.held = back.slow
        for i, start, end, way in back.stood:
            self.start[i], self.end[i], self.by[i] = start, end, way

    def bounds(self, i: int, least: tuple[int, int]) -> tuple[int, int, int, int]:
        """Read where the links into a work let it start (from, to) and end (from, to)."""
        start, end = raised(least, self.lots.into[i], self.start, self.end)
        start_by, end_by = self.last_slot, self.last[i]
        for bind in self.lots.late[i]:
            bound = self._latest(bind)
            if bind.to_finish:
                end_by = min(end_by, bound)
            else:
                start_by = min(start_by, bound)
        return start, start_by, end, end_by

    def _latest(self, bind: Bind) -> int:
        event = self.end[bind.before] if bind.from_finish else self.start[bind.before]
        return self.last_slot if bind.latest is None else bind.latest[event]

    def find(self, i: int, bounds: Bounds) -> Found | None:
        """Return the place and the way in which a work would be done first, or None."""
        if self.lots.slow[i]:
            return self.find_by(i, bounds, self.ways[i])
        held = self.held
        start, start_by, end, end_by = bounds
        base, best = 0, None
        for key in self.lots.full[i]:
            base |= held[key]
        for way in self.ways[i]:
            place = way.place_from(start, end)
            opened, _, slots, keys, bits, halves = way[:6]
            if opened[place + slots - 1] > end_by:
                continue
            taken = base
            for key in keys:
                taken |= held[key]
            for given, own, _ in halves:
                taken |= held[given] & ~held[own] & bits
            found = way.first_free(place, (start_by, end_by), taken)
            if found is not None:
                best, end_by = (*found, way), found[1] - 1
        return best

    def find_by(self, i: int, bounds: Bounds, ways: Iterable[Way]) -> Found | None:
        """The same among some ways, and where ground, ways in, drives or a crew's own time concern the work."""
        start, start_by, end, end_by = bounds
        hurdles, best = self.hurdles(i), None
        for way in ways:
            within = self.own_bounds(way, (start, start_by, end, end_by))
            found = self.first(i, way, within, self.taken(way, hurdles), hurdles.ground)
            if found is not None:
                best, end_by = (*found, way), found[1] - 1
        return best

    def first(
        self, i: int, way: Way, bounds: Bounds, taken: int, ground: Ground
    ) -> tuple[int, int] | None:
        """Return the first place within bounds that meets no slot taken and no rule of the ground."""
        start, start_by, end, end_by = bounds
        onward = None
        if self.lots.ground[i]:
            onward = partial(hindrance, self.ledger, i, way, ground)
        by = start_by, min(end_by, self.last_slot)
        return way.first_free(way.place_from(start, end), by, taken, onward)

    def hurdles(self, i: int) -> Hurdles:
        """Read what forbids slots to a work whoever does it."""
        base, jam, ground = 0, 0, BARE
        for key in self.lots.full[i]:
            base |= self.held[key]
        if self.lots.ground[i]:
            ground = ground_of(self.ledger, i)
            for way_in in self.ledger.demands[i].ways:
                jam |= jammed(self.ledger, way_in)
        return Hurdles(base | ground.bits, jam, ground)

    def own_bounds(self, way: Way, bounds: Bounds) -> Bounds:
        """Add the waits that are counted in a crew's own working time."""
        if not way.option.binds:
            return bounds
        start, start_by, end, end_by = bounds
        start, end = raised((start, end), way.option.pulls, self.start, self.end)
        return start, start_by, end, end_by

    def taken(self, way: Way, hurdles: Hurdles) -> int:
        """Slots that hurdles, a crew and its machines forbid, and half days it gives to other yards."""
        held, others = self.held, hurdles.jam
        bits = hurdles.base
        for key in way.keys:
            bits |= held[key]
        for given, own, _ in way.halves:
            others |= held[given] & ~held[own]
        return bits | others & way.bits

    def stands(self, i: int) -> bool:
        """Return True if all links let a work stand where it is."""
        start, end, way = self.start[i], self.end[i], self.by[i]
        bounds = self.bounds(i, self.least[i])
        low, by, least, last = bounds if way is None else self.own_bounds(way, bounds)
        return low <= start <= by and least <= end <= last

    def put_where(self, i: int, at: Placement) -> bool:
        """Put a work where somebody says, if it may stand there."""
        for way in self.lots.ways[i]:
            if way.option.crew == at.crew and set(way.units) <= set(at.machines):
                start, start_by, end, end_by = self.bounds(i, self.least[i])
                within = (
                    max(start, at.start),
                    min(start_by, at.start),
                    max(end, at.end),
                    min(end_by, at.end),
                )
                found = self.find_by(i, within, (way,))
                if found is not None:
                    self.place(i, *found)
                    return True
        return False

    def place(self, i: int, start: int, end: int, way: Way) -> None:
        """Put a work in its place; nothing is checked."""
        held = self.held
        self.start[i], self.end[i], self.by[i] = start, end, way
        span = self.masks[end - start] << start
        for key in way.keys:
            held[key] |= span
        for key in self.lots.single[i]:
            held[key] |= span
        if self.lots.stacks[i]:
            self._stack(i, span)
        if way.halves:
            self._give(way.halves, span & way.bits)
        if self.lots.ground[i]:
            self.ledger.put(i, (start, end), span & way.bits, way.option.crew)

    def _give(self, halves: Iterable[Halves], worked: int) -> None:
        """Give the slots of crews, and the half days these lie in, to a yard."""
        held, wide = self.held, self.lots.spread(worked)
        for given, own, slots in halves:
            held[given] |= wide
            held[own] |= wide
            held[slots] |= worked

    def _free(self, halves: Iterable[Halves], worked: int) -> None:
        """Free slots of crews, and the half days in which they do nothing else in the yard."""
        held, spread = self.held, self.lots.spread
        wide = spread(worked)
        for given, own, slots in halves:
            still = held[slots] = held[slots] & ~worked
            gone = wide & ~spread(still & wide)
            held[given] &= ~gone
            held[own] &= ~gone

    def _stack(self, i: int, span: int) -> None:
        """Put a work on top of the others in each pool it draws on."""
        held = self.held
        for first, count, units in self.lots.stacks[i]:
            for _ in range(units):
                rest = span
                for key in range(first, first + count):
                    old = held[key]
                    held[key] = old | rest
                    rest &= old
                    if not rest:
                        break

    def remove(self, i: int) -> None:  # noqa: C901 (in one piece for speed)
        """Take a work out."""
        held, way = self.held, self.by[i]
        if way is None:
            return
        start, end = self.start[i], self.end[i]
        span = self.masks[end - start] << start
        for key in way.keys:
            held[key] &= ~span
        for key in self.lots.single[i]:
            held[key] &= ~span
        for first, count, units in self.lots.stacks[i]:
            for _ in range(units):
                for key in range(first, first + count - 1):
                    held[key] = held[key] & ~span | held[key + 1] & span
                held[first + count - 1] &= ~span
        if way.halves:
            self._free(way.halves, span & way.bits)
        if self.lots.ground[i]:
            self.ledger.take(i, span & way.bits, way.option.crew)
