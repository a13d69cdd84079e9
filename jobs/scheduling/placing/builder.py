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

from .putting import to_come_later

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.scheduling.binds import Bind
    from jobs.scheduling.ready import Ready

    from .board import Board


class Builder:
    """One pass over all works, on a board that is cleared for it.

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
        board: Board,
        after: Sequence[Sequence[int]],
        keys: Sequence[float],
        urgent: frozenset[int] = frozenset(),
    ) -> None:
        self.board, self.ready, self.after = board, board.ready, after
        board.clear()
        self.least = list(board.least)
        self.rank = [(i not in urgent, key, i) for i, key in enumerate(keys)]
        self.waiting = [0] * len(keys)
        for followers in after:
            for j in followers:
                self.waiting[j] += 1
        self.placed = [i in self.ready.fixed for i in range(len(keys))]
        self.stack: list[int] = []
        self.heap: list[tuple[bool, float, int]] = []
        self.tries = 2 * len(keys) + 100

    def build(self) -> None:
        """Place everything.

        Raises
        ------
        NoPlan
            If a work finds no place; it is the first culprit.
        """
        heap, waiting, placed = self.heap, self.waiting, self.placed
        for i in self.ready.fixed:
            self._release(i)
        heap += [self.rank[i] for i, n in enumerate(waiting) if not n and not placed[i]]
        heapify(heap)
        while heap:
            i = heappop(heap)[-1]
            if not placed[i] and not waiting[i]:
                self._put(i)

    def _put(self, i: int) -> None:
        """Place a work, or take out and put off what it cannot follow in time."""
        board, least = self.board, self.least[i]
        found = board.find(i, board.bounds(i, least))
        if found is None:
            self._put_off(i)
            return
        board.place(i, *found)
        self.placed[i] = True
        self.stack.append(i)
        self._release(i)

    def _release(self, i: int) -> None:
        hasty = self.board.lots.hasty
        for j in self.after[i]:
            self.waiting[j] -= 1
            if not self.waiting[j] and not self.placed[j]:
                soon = (i, j) in hasty
                heappush(self.heap, (False, float("-inf"), j) if soon else self.rank[j])

    def _put_off(self, i: int) -> None:
        """Let a forerunner come later, with all placed since, so that a work can follow it in time."""
        later = to_come_later(self.board, i, self.least[i])
        self.tries -= 1
        if later is None or later.work in self.ready.fixed or not self.tries:
            raise _no_place(self.ready, i, self.board.lots.late[i])
        self.least[later.work] = later.over(self.least[later.work])
        for j in self._taken_out(later.work):
            for k in self.after[j]:
                self.waiting[k] += 1
            heappush(self.heap, self.rank[j])
        heappush(self.heap, self.rank[i])

    def _taken_out(self, i: int) -> list[int]:
        """Take out a work and everything placed after it; return these works."""
        out: list[int] = []
        while i not in out:
            j = self.stack.pop()
            self.board.remove(j)
            self.placed[j] = False
            out.append(j)
        return out


def build_in_turn(
    board: Board, after: Sequence[Sequence[int]], keys: Sequence[float], most_urgent: int
) -> None:
    """Build once; what finds no place is moved to the front, with all before it, and again.

    Parameters
    ----------
    most_urgent
        Times a pass is begun again.

    Raises
    ------
    NoPlan
        If a work still finds no place.
    """
    ready, urgent = board.ready, frozenset[int]()
    for _ in range(most_urgent):
        try:
            Builder(board, after, keys, urgent).build()
        except NoPlan as error:
            more = urgent | _up_to(ready, ready.number[error.culprits[0]])
            if more == urgent:
                raise
            urgent = more
        else:
            return
    Builder(board, after, keys, urgent).build()


def _up_to(ready: Ready, last: int) -> frozenset[int]:
    """Return a work and all works before it."""
    found = {last}
    for i in reversed(ready.order):
        if any(j in found for j in ready.after[i]):
            found.add(i)
    return frozenset(found)


def _no_place(ready: Ready, i: int, late: Sequence[Bind]) -> NoPlan:
    work = ready.works[i]
    before = tuple(ready.works[bind.before].id for bind in late)
    return NoPlan(
        f"{work.name} finds no place in time",
        remedy="allow more time before it, free its crew, or move a date fixed by hand",
        culprits=(work.id, *before),
    )
