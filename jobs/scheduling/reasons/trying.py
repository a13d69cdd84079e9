"""Try where a work of a plan could start with everything else where it is, or with something gone.

This is how a reason is verified: what is said to hold a work is taken away, and the start is tried.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.placing.board import Board

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from jobs.scheduling.placing.ways import Way
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement

    from .reading import Away


class Trial:
    """A plan laid out to be tried; made once for many works."""

    def __init__(self, ready: Ready, placed: Sequence[Placement]) -> None:
        self._ready, self._placed = ready, placed
        self._board = Board(ready, early_dates(ready))
        self.fits = all(
            self._board.put_where(i, placed[i]) for i in ready.order if i not in ready.fixed
        )
        """False if the plan does not stand in its world: nothing can be tried then."""

    def soonest(self, i: int, gone: Iterable[Away] = ()) -> int:
        """First start of a work with its crew, everything else where it is and something gone.

        What has begun is in the way even if it is said to be gone: it cannot be moved.
        """
        away = tuple(gone)
        works = [it.work for it in away if it.work is not None]
        back = self._board.mark([i, *works])
        for j in (i, *works):
            self._board.remove(j)
        found = self._board.find_by(i, self._bounds(i, away), self._ways(i))
        self._board.go_back(back)
        return self._placed[i].start if found is None else min(found[0], self._placed[i].start)

    def _ways(self, i: int) -> list[Way]:
        """Ways to do a work with its own crew; waits in its own time are among the bounds already."""
        crew = self._placed[i].crew
        return [
            way._replace(option=way.option._replace(binds=()))
            for way in self._board.lots.ways[i]
            if way.option.crew == crew
        ]

    def _bounds(self, i: int, away: Sequence[Away]) -> tuple[int, int, int, int]:
        ready = self._ready
        own = {it.own for it in away}
        work = ready.works[i]
        start, end = ready.world.now, 0
        if "release" not in own:
            start = max(start, ready.world.jobs[work.job].release)
        if "pin" not in own:
            start = max(start, work.pin.not_before or 0)
        links = {id(it.tie) for it in away if not it.own}
        for bind in ready.binds(i, self._placed[i].crew):
            if id(bind.tie) not in links:
                bound = bind.earliest[self._event(bind.before, finish=bind.from_finish)]
                start, end = _raised(start, end, bound, finish=bind.to_finish)
        soon = {id(it.tie) for it in away if it.own == "at-most"}
        for bind in ready.back[i]:
            if id(bind.tie) not in soon and bind.earliest_event is not None:
                bound = bind.earliest_event[self._event(bind.after, finish=bind.to_finish)]
                start, end = _raised(start, end, bound, finish=bind.from_finish)
        return start, ready.size - 1, end, ready.last[i]

    def _event(self, j: int, *, finish: bool) -> int:
        return self._placed[j].end if finish else self._placed[j].start


def _raised(start: int, end: int, bound: int, *, finish: bool) -> tuple[int, int]:
    return (start, max(end, bound)) if finish else (max(start, bound), end)
