"""A plan laid out so that works can be taken out and put back in any order, many thousand times a second.

What is held is one list of whole numbers used as bitmaps; a copy of that list is a way back. A pool
(units of a machine that are alike, a zone, a yard) has one bitmap per unit: bit ``t`` of the k-th is set
when more than k are in use, so the last one needed says where there is no room left. Ground, ways in and
drives are rare and stay in a ``Ledger``, whose rules in ``hurdles`` are asked for the works they concern.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from .afoot import first_place, put_on_ground, take_off_ground
from .hurdles import ground_of, jammed
from .ledger import Ledger
from .lots import Lots, lots_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.scheduling.paths.early import Early
    from jobs.scheduling.ready import Bind, Ready
    from jobs.scheduling.result import Placement

    from .lots import Way

NOWHERE = -1


Bounds = tuple[int, int, int, int]
Found = tuple[int, int, "Way"]


class Back(NamedTuple):
    """A way back: everything held, and where some works stood."""

    held: list[int]
    slow: dict[tuple[Any, ...], Any]
    stood: list[tuple[int, int, int, Way | None]]


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
        self.lots: Lots = lots_of(ready)
        self.ledger = Ledger(ready)
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

    def _hold_fact(self, i: int, at: Placement) -> None:
        first = max(at.start, 0)
        span = ((1 << max(at.end + 1 - first, 0)) - 1) << first
        for key in (*self.lots.fact_keys(self.ready.works[i], at), *self.lots.single[i]):
            self.held[key] |= span
        self._stack(i, span)
        worked = span & self.ready.held(i, at).bits
        for key in self.lots.fact_hours(self.ready.works[i], at):
            self.held[key] |= worked

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
        start, end = least
        starts, ends = self.start, self.end
        for before, from_finish, to_finish, earliest in self.lots.into[i]:
            bound = earliest[ends[before] if from_finish else starts[before]]
            if to_finish:
                if bound > end:  # noqa: PLR1730 (a call would cost more than the rest)
                    end = bound
            elif bound > start:
                start = bound
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

    def find(  # noqa: C901 (the loop that a search spends its time in)
        self, i: int, bounds: Bounds
    ) -> Found | None:
        """Return the place and the way in which a work would be done first, or None."""
        if self.lots.slow[i]:
            return self.find_by(i, bounds, self.ways[i])
        lots, held, masks = self.lots, self.held, self.masks
        start, start_by, end, end_by = bounds
        base, best, day = 0, None, lots.day[i]
        for key in lots.full[i]:
            base |= held[key]
        for way in self.ways[i]:
            opened, rank, slots, keys = way[:4]
            slots -= 1
            place = rank[start]
            if end and rank[end] - slots > place:
                place = rank[end] - slots
            if opened[place + slots] > end_by:
                continue
            taken = base
            for key in keys:
                taken |= held[key]
            while True:
                first, last = opened[place], opened[place + slots]
                if last > end_by or first > start_by:
                    break
                if day and first // day != last // day:
                    place += 1
                    continue
                clash = (taken >> first) & masks[last - first]
                if not clash:
                    best, end_by = (first, last, way), last - 1
                    break
                place = rank[first + clash.bit_length()]
        return best

    def find_by(self, i: int, bounds: Bounds, ways: Iterable[Way]) -> Found | None:
        """The same among some ways, and where ground, ways in, half days or drives concern the work."""
        start, start_by, end, end_by = bounds
        ground, best, jam = ground_of(self.ledger, i), None, 0
        base = ground.bits
        for key in self.lots.full[i]:
            base |= self.held[key]
        for passage in self.ledger.demands[i].ways:
            jam |= jammed(self.ledger, passage)
        for way in ways:
            low, high = self._own_bounds(way, start, end) if way.option.binds else (start, end)
            within = (low, start_by, high, end_by)
            found = first_place(self.ledger, i, way, within, base | self.taken(way, jam), ground)
            if found is not None:
                best, end_by = (*found, way), found[1] - 1
        return best

    def _own_bounds(self, way: Way, start: int, end: int) -> tuple[int, int]:
        """Add the waits that are counted in a crew's own working time."""
        for bind in way.option.binds:
            event = self.end[bind.before] if bind.from_finish else self.start[bind.before]
            bound = bind.earliest[event]
            if bind.to_finish:
                end = max(end, bound)
            else:
                start = max(start, bound)
        return start, end

    def taken(self, way: Way, jam: int) -> int:
        """Slots that a crew and its machines forbid, and half days it gives to other yards."""
        bits = jam & way.bits
        for key in way.keys:
            bits |= self.held[key]
        if way.hours >= 0:
            other = self.held[way.hours] & ~self.held[way.own]
            if way.lent:
                other |= self.held[way.lent[0]] & ~self.held[way.lent[1]]
            if other:
                bits |= self.lots.spread(other) & way.bits
        return bits

    def stands(self, i: int) -> bool:
        """Return True if all links let a work stand where it is."""
        start, end, way = self.start[i], self.end[i], self.by[i]
        low, by, least, last = self.bounds(i, self.least[i])
        if way is not None:
            low, least = self._own_bounds(way, low, least)
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
        if way.hours >= 0:
            for key in (way.hours, way.own, *(way.lent or ())):
                held[key] |= span & way.bits
        if self.lots.ground[i]:
            put_on_ground(self.ledger, i, (start, end), span & way.bits, way.option.crew)

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
        if way.hours >= 0:
            worked = span & way.bits
            for key in (way.hours, way.own, *(way.lent or ())):
                held[key] &= ~worked
        if self.lots.ground[i]:
            take_off_ground(self.ledger, i, span & way.bits, way.option.crew)
