"""Build one plan: place the works one after the other, most urgent first, each as soon as it can be.

A work comes up when everything before it is placed, and takes the crew and machines with which it
would be done first. What must be followed soon is held back until its followers' other forerunners
are placed, and its followers come right after it. If a follower cannot make it in time, the work before
it is taken out again, with all that was placed since, and put back later.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush
from typing import TYPE_CHECKING

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.result import Placement

from .demands import Choice
from .hurdles import Bounds, first_free, ground_of
from .ledger import Ledger

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.scheduling.paths.early import Early
    from jobs.scheduling.ready import Bind, Option, Ready


Found = tuple[int, int, "Choice"]


class Builder:
    """One pass over all works.

    Parameters
    ----------
    after
        Followers of each work, as ``held_back`` gives them.
    keys
        Priority of each work; lower comes first.
    urgent
        Works placed before all others, with everything before them.
    """

    def __init__(
        self,
        ready: Ready,
        early: Early,
        after: Sequence[Sequence[int]],
        keys: Sequence[float],
        urgent: frozenset[int] = frozenset(),
    ) -> None:
        self.ready, self.early, self.after = ready, early, after
        self.ledger = Ledger(ready)
        self.start, self.end = list(early.start), list(early.end)
        self.rank = [(i not in urgent, key, i) for i, key in enumerate(keys)]
        self.waiting = [0] * len(keys)
        for followers in after:
            for j in followers:
                self.waiting[j] += 1
        self.heap: list[tuple[bool, float, int]] = []
        self.tries = 2 * len(keys) + 100

    def build(self) -> Ledger:
        """Place everything.

        Raises
        ------
        NoPlan
            If a work finds no place; it is the first culprit.
        """
        ledger, heap = self.ledger, self.heap
        for i in ledger.placed:
            self._release(i)
        heap += [
            self.rank[i] for i, n in enumerate(self.waiting) if not n and i not in ledger.placed
        ]
        heapify(heap)
        while heap:
            i = heappop(heap)[-1]
            if i in ledger.placed or self.waiting[i]:
                continue
            self._put(i)
        return ledger

    def _put(self, i: int) -> None:
        """Place a work, or take out and put off what it cannot follow in time."""
        bounds, late = bounds_of(self.ready, self.ledger, i, (self.start[i], self.end[i]))
        found = best_free(self.ledger, i, bounds)
        if found is None:
            self._put_off(i, bounds, late)
            return
        start, end, choice = found
        self.ledger.place(
            i, Placement(start, end, choice.option.crew, choice.units), choice.calendar
        )
        self._release(i)

    def _release(self, i: int) -> None:
        hasty = {bind.after for bind in self.ready.back[i]}
        for j in self.after[i]:
            self.waiting[j] -= 1
            if not self.waiting[j] and j not in self.ledger.placed:
                heappush(self.heap, (False, float("-inf"), j) if j in hasty else self.rank[j])

    def _put_off(self, i: int, bounds: Bounds, late: Sequence[Bind]) -> None:
        """Let a forerunner come later, so that a work can follow it in time."""
        ready, ledger = self.ready, self.ledger
        free = Bounds(bounds.start, ready.size - 1, bounds.end, ready.last[i])
        found = best_free(ledger, i, free) if late else None
        if found is None:
            raise _no_place(ready, i, late)
        for bind in late:
            event = found[1] if bind.to_finish else found[0]
            at = ledger.placed[bind.before]
            if bind.latest is None or bind.earliest_event is None:
                continue
            if event > bind.latest[at.end if bind.from_finish else at.start]:
                self._take_out(i, bind.before, bind.earliest_event[event], finish=bind.from_finish)
                return
        raise _no_place(ready, i, late)

    def _take_out(self, i: int, before: int, bound: int, *, finish: bool) -> None:
        """Take a forerunner out with all placed since; it comes back no sooner than ``bound``."""
        at = self.ledger.placed[before]
        self.tries -= 1
        if (
            before in self.ready.fixed
            or bound <= (at.end if finish else at.start)
            or not self.tries
        ):
            raise _no_place(self.ready, i, ())
        (self.end if finish else self.start)[before] = bound
        for j in self.ledger.take_out(before):
            for k in self.after[j]:
                self.waiting[k] += 1
            heappush(self.heap, self.rank[j])
        heappush(self.heap, self.rank[i])


def bounds_of(
    ready: Ready, ledger: Ledger, i: int, least: tuple[int, int]
) -> tuple[Bounds, list[Bind]]:
    """Read where the links into a work let it stand, own-time waits left aside; and its at-mosts."""
    (start, end), start_by, end_by = least, ready.size - 1, ready.last[i]
    start = max(start, ready.floor[i])
    late = []
    for bind in ready.into[i]:
        at = ledger.placed[bind.before]
        event = at.end if bind.from_finish else at.start
        bound = bind.earliest[event]
        if bind.to_finish:
            end = max(end, bound)
        else:
            start = max(start, bound)
        if bind.latest is not None:
            late.append(bind)
    for option in ready.options[i][:1]:
        late += [bind for bind in option.binds if bind.latest is not None]
    for bind in late:
        at = ledger.placed[bind.before]
        if bind.latest is None:
            continue
        bound = bind.latest[at.end if bind.from_finish else at.start]
        if bind.to_finish:
            end_by = min(end_by, bound)
        else:
            start_by = min(start_by, bound)
    return Bounds(max(start, 0), start_by, max(end, 0), end_by), late


def best_free(ledger: Ledger, i: int, bounds: Bounds) -> Found | None:
    """Return the place and choice with which a work would be done first, or None.

    A crew's machine units are only looked at if the crew alone would be done sooner than the best so far.
    """
    ground = ground_of(ledger, i)
    best: Found | None = None
    seen: set[tuple[object, ...]] = set()
    able: Option | None = None
    hopes = False
    for choice in ledger.demands[i].choices:
        within = own_bounds(ledger, choice, bounds) if choice.option.binds else bounds
        if choice.units:
            if choice.option is not able:
                able = choice.option
                alone = Choice(able, (), able.calendar)
                hopes = first_free(ledger, i, alone, within, ground) is not None
            if not hopes or _looked_at(ledger, choice, seen):
                continue
        found = first_free(ledger, i, choice, within, ground)
        if found is not None:
            best = (*found, choice)
            bounds = Bounds(bounds.start, bounds.start_by, bounds.end, found[1] - 1)
    return best


def _looked_at(ledger: Ledger, choice: Choice, seen: set[tuple[object, ...]]) -> bool:
    """Return True if a crew was tried with units that are taken in the same slots; else note it."""
    taken = [ledger.held.get(("unit", *unit), 0) for unit in choice.units]
    alike = (choice.option.crew, id(choice.calendar), *taken)
    if alike in seen:
        return True
    seen.add(alike)
    return False


def own_bounds(ledger: Ledger, choice: Choice, bounds: Bounds) -> Bounds:
    """Narrow bounds by the waits that are counted in a crew's own working time."""
    for bind in choice.option.binds:
        at = ledger.placed[bind.before]
        bound = bind.earliest[at.end if bind.from_finish else at.start]
        if bind.to_finish:
            bounds = bounds._replace(end=max(bounds.end, bound))
        else:
            bounds = bounds._replace(start=max(bounds.start, bound))
    return bounds


def _no_place(ready: Ready, i: int, late: Sequence[Bind]) -> NoPlan:
    work = ready.works[i]
    before = tuple(ready.works[bind.before].id for bind in late)
    return NoPlan(
        f"{work.name} finds no place in time",
        remedy="allow more time before it, free its crew, or move a date fixed by hand",
        culprits=(work.id, *before),
    )


def held_back(ready: Ready) -> list[list[int]]:
    """Return the followers of each work, and more: who is followed soon comes after all others.

    If a work must follow another soon, its other forerunners are placed before that one, so that it
    can follow at once. Left out where that would run in a ring.
    """
    after = [list(followers) for followers in ready.after]
    befores: list[list[int]] = [[] for _ in after]
    for i, followers in enumerate(ready.after):
        for j in followers:
            befores[j].append(i)
    for i, binds in enumerate(ready.back):
        if i in ready.fixed:
            continue
        for bind in binds:
            for j in befores[bind.after]:
                if j not in ready.fixed and j != i and j not in _beyond(after, i):
                    after[j].append(i)
    return after


def _beyond(after: Sequence[Sequence[int]], i: int) -> set[int]:
    """Return all works that come after a work."""
    found: set[int] = set()
    stack = [i]
    while stack:
        for j in after[stack.pop()]:
            if j not in found:
                found.add(j)
                stack.append(j)
    return found
