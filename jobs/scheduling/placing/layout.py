"""A plan laid out so that works can be taken out and put back in any order, many thousand times a second.

What is held is one list of whole numbers used as bitmaps; a copy of that list is a way back. A pool
(units of a machine that are alike, a zone, a yard) has one bitmap per unit: bit ``t`` of the k-th is set
when more than k are in use, so the last one needed says where there is no room left. Ground, ways in and
drives are rare and stay in a ``Ledger``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from .ledger import Ledger
from .lots import Lots, lots_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement

    from .ways import Halves, Way

NOWHERE = -1


class Back(NamedTuple):
    """A way back: everything held, and where some works stood."""

    held: list[int]
    slow: dict[tuple[Any, ...], Any]
    stood: list[tuple[int, int, int, Way | None]]


class Layout:
    """Where every work stands, and what that takes up.

    Attributes
    ----------
    start, end
        First and last slot of each work, ``NOWHERE`` while it is taken out.
    by
        Who does each work with which units; None for what has begun.
    """

    def __init__(self, ready: Ready) -> None:
        self.ready = ready
        self.ledger = Ledger(ready)
        self.lots: Lots = lots_of(ready, self.ledger.demands)
        self.held = [0] * self.lots.size
        count = len(ready.works)
        self.start, self.end = [NOWHERE] * count, [NOWHERE] * count
        self.by: list[Way | None] = [None] * count
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
