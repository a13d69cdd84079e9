"""The slow way for tiny worlds: try every place of every work before saying that there is no plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.scheduling.result import Placement

from .builder import bounds_of, own_bounds
from .hurdles import first_free, ground_of
from .ledger import Ledger

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.scheduling.paths.early import Early
    from jobs.scheduling.ready import Ready

MOST_WORKS = 8
MOST_PLACES = 40_000


class _Spent(Exception):
    """So many places were tried that it takes too long."""


class _Search:
    def __init__(self, ready: Ready, early: Early) -> None:
        self.ready, self.early, self.ledger = ready, early, Ledger(ready)
        self.order = [i for i in ready.order if i not in ready.fixed]
        self.left = MOST_PLACES

    def place(self, depth: int) -> bool:
        """Place all works from one on; False if that cannot be done."""
        if depth == len(self.order):
            return True
        i = self.order[depth]
        for at, held in self._places(i):
            self.left -= 1
            if not self.left:
                raise _Spent
            self.ledger.place(i, at, self.ready.calendar(held))
            if self.place(depth + 1):
                return True
            self.ledger.take_out(i)
        return False

    def _places(self, i: int) -> Iterator[tuple[Placement, int]]:
        """Every free place with every crew and every choice of units that differ."""
        least = self.early.start[i], self.early.end[i]
        bounds, _ = bounds_of(self.ready, self.ledger, i, least)
        ground = ground_of(self.ledger, i)
        seen = set()
        for choice in self.ledger.demands[i].choices:
            held = tuple(self.ledger.held.get(("unit", *unit), 0) for unit in choice.units)
            alike = (choice.option.crew, choice.calendar.bits, held)
            if alike in seen:
                continue
            seen.add(alike)
            within = own_bounds(self.ledger, choice, bounds)
            while (found := first_free(self.ledger, i, choice, within, ground)) is not None:
                yield Placement(*found, choice.option.crew, choice.units), choice.calendar.bits
                within = within._replace(start=found[0] + 1)


def search(ready: Ready, early: Early) -> Ledger | None:
    """Return any plan of a tiny world; None if there is none, or the world is too big to tell."""
    ledger, _ = _tried(ready, early)
    return ledger


def nowhere(ready: Ready, early: Early) -> bool:
    """Return True if every place of every work was tried in vain; False if not, or too big to tell."""
    ledger, through = _tried(ready, early)
    return through and ledger is None


def _tried(ready: Ready, early: Early) -> tuple[Ledger | None, bool]:
    """Any plan of a tiny world, and whether it was tried through and through."""
    if len(ready.works) - len(ready.fixed) > MOST_WORKS:
        return None, False
    attempt = _Search(ready, early)
    try:
        return (attempt.ledger if attempt.place(0) else None), True
    except _Spent:
        return None, False
