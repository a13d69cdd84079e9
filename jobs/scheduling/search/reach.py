"""How soon a job can be done once a work of it stands: what tells a hopeless try before all works are back.

Only links and calendars within the job count, nobody in anybody's way, so no plan in which the work ends
there has a sooner finish.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.binds import Lookup

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from jobs.scheduling.placing.board import Board
    from jobs.scheduling.placing.ways import Way

DEEP = 100
"""Works one after the other through which a finish is looked for: each is one call within another."""


class _Step(NamedTuple):
    """A follower: the slot from which it may start, by its forerunner's end; who may do it; what it reaches."""

    earliest: Lookup
    ways: Sequence[Way]
    reach: Lookup


def reach_of(board: Board) -> list[Lookup]:
    """Return for each work the soonest last counted slot of its job by the slot in which it ends."""
    ready = board.ready
    reach: list[Lookup] = [Lookup(int)] * len(ready.works)
    depth = [0] * len(ready.works)
    for i in reversed(ready.order):
        steps = []
        for j in dict.fromkeys(ready.after[i]):
            if ready.works[j].job == ready.works[i].job and j not in ready.fixed:
                steps += _steps(board, i, j, reach[j])
                depth[i] = max(depth[i], depth[j] + 1)
        if depth[i] > DEEP:
            steps, depth[i] = [], 0
        reach[i] = Lookup(_asker(ready.size, steps, counts=ready.works[i].counts))
    return reach


def _steps(board: Board, i: int, j: int, reach: Lookup) -> list[_Step]:
    """Links from the finish of one work to the start of another; the rest say nothing for certain."""
    return [
        _Step(bind.earliest, board.lots.ways[j], reach)
        for bind in board.ready.into[j]
        if bind.before == i and bind.from_finish and not bind.to_finish
    ]


def _asker(size: int, steps: Sequence[_Step], *, counts: bool) -> Callable[[int], int]:
    def ask(end: int) -> int:
        found = end if counts else 0
        for earliest, ways, reach in steps:
            start = earliest[end]
            if start >= size:
                return size
            soonest = min(way.opened[way.rank[start] + way.slots - 1] for way in ways)
            if soonest >= size:
                return size
            found = max(found, reach[soonest])
        return found

    return ask
