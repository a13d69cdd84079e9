"""Where there is room for a work in a plan that is being made: who does it first, and where it may stand.

The rules of ground, ways in and drives, in ``hurdles``, are asked only for the works they concern.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.binds import raised

from .hurdles import Ground, ground_of, hindrance, jammed
from .layout import Layout
from .ways import Way

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.scheduling.binds import Bind
    from jobs.scheduling.paths.early import Early
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement


Bounds = tuple[int, int, int, int]
Found = tuple[int, int, Way]


class Hurdles(NamedTuple):
    """Slots without room whoever does a work, those its ways in are full in, and the ground it needs."""

    base: int
    jam: int
    ground: Ground


BARE = Ground(0, ())


class Board(Layout):
    """A layout that knows where each work may go.

    Attributes
    ----------
    least
        Early start and end of each work.
    ways
        Who may do each work just now; a search may leave some out for a try.
    """

    def __init__(self, ready: Ready, early: Early) -> None:
        super().__init__(ready)
        self.last_slot, self.last = ready.size - 1, ready.last
        self.ways = list(self.lots.ways)
        self.least = list(zip(early.start, early.end, strict=True))

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
