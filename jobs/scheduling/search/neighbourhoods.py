"""What to free and what to fix: parts of a plan small enough for a solver to settle at once.

Two to four related jobs at a time, within a window of some days back and fewer on, all else fixed. While
parts are proven quickly they grow, else they shrink. A small world is one part: what is proven of it is
proven of the plan. Nothing here solves anything.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Protocol

from jobs.scheduling.dice import Dice
from jobs.scheduling.placing.spots import Spot, spots_of
from jobs.scheduling.result import Score

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.placing.board import Board, Bounds
    from jobs.scheduling.placing.ways import Way

    from .search import Search

DAYS_BACK, DAYS_ON = 15, 6
"""Days a start may move back and an end may move on in a part."""
MOST_JOBS = 6
SMALL_WORKS = 130
"""Works up to which a world is looked at as a whole."""
MOST_STARTS = 60_000
"""Starts to choose from beyond which a whole world is left to its parts."""
QUICK_SECONDS, MOST_SECONDS = 0.5, 3.0
"""Limits of a part; proven within it, the next one may be larger. It grows while nothing is gained."""
PATIENCE = 1.3
"""By how much."""
WHOLE_WORK = 3.0
"""Limit of a whole world in the solver's own count of work."""
QUICK_WORK = 0.3
"""The same in the solver's own count of work, where no clock is read."""

Stood = tuple[int, int, "Way"]


class Part(NamedTuple):
    """Works that may move, with everywhere they may stand; all other works stay.

    Attributes
    ----------
    board
        The plan with the free works taken out.
    stood
        Where they stood.
    jobs
        Jobs whose finish may change, by number, and the last slot of their counted works that stay.
    seconds, work
        Limits; None for none.
    """

    board: Board
    stood: Mapping[int, Stood]
    spots: Mapping[int, list[Spot]]
    jobs: Mapping[int, int]
    counted: Mapping[int, list[int]]
    seconds: float | None
    work: float | None
    seed: int


class Answer(NamedTuple):
    """Where the free works stand now; ``bound`` holds for late days and finishes of its jobs."""

    stands: Mapping[int, Stood]
    proven: bool
    bound: Score


class Solver(Protocol):
    """Settles a part; None if it found nothing."""

    def __call__(self, part: Part, stop: Budget) -> Answer | None:
        """Return the best it finds, at least as good as what stood."""
        ...


@dataclass
class Parts:
    """One part after the other, each taken over if it is no worse.

    Attributes
    ----------
    bound
        What is proven of the whole plan.
    """

    search: Search
    solver: Solver
    seed: int
    early: tuple[list[int], list[int]]
    bound: Score = field(default_factory=lambda: Score(0))
    rounds: int = 0
    jobs: int = 2
    limit: float = QUICK_SECONDS
    dice: Dice = field(init=False)

    def __post_init__(self) -> None:
        """Roll numbers of its own."""
        self.dice = Dice(self.seed, "parts")

    def run(self, budget: Budget) -> None:
        """Go on until the budget is spent or the plan is proven best."""
        self.search.to_best()
        if self._small():
            self._whole(budget)
        movable = len(self.search.moves.movable)
        while not budget() and self.search.score != self.bound and movable > 1:
            self._round(min(self.jobs, movable), budget)

    def _small(self) -> bool:
        return sum(len(members) for members in self.search.moves.members) <= SMALL_WORKS

    def _whole(self, budget: Budget) -> None:
        """Look at everything at once."""
        search = self.search
        free = [i for members in search.moves.members for i in members]
        last = last_ends(search, self.early)
        windows = {i: (self.early[0][i], last[i], self.early[1][i], last[i]) for i in free}
        part = self._part(free, windows, budget.seconds(), None if budget.seconds() else WHOLE_WORK)
        if sum(len(s.starts) for spots in part.spots.values() for s in spots) > MOST_STARTS:
            self._put(part.stood)
            return
        answer = self.solver(part, budget)
        self._take(part, answer)
        if answer is not None:
            fixed = [end for n, end in enumerate(search.ends) if n not in part.jobs]
            late = [x for n, x in enumerate(search.late) if n not in part.jobs]
            late_at_least = answer.bound.late + sum(late)
            whole = Score(late=late_at_least, finish=answer.bound.finish + sum(fixed))
            self.bound = min(whole, search.score)

    def _round(self, count: int, budget: Budget) -> None:
        search, per_day = self.search, self.search.per_day
        first = search.moves.choose_first()
        jobs = {first}
        for _ in range(4 * count):
            if len(jobs) < count:
                jobs.add(search.moves.neighbour(first))
        board = search.board
        free = search.moves.closed([i for n in sorted(jobs) for i in search.moves.members[n]])
        windows = {
            i: (
                board.start[i] - DAYS_BACK * per_day,
                board.last_slot,
                0,
                board.end[i] + DAYS_ON * per_day,
            )
            for i in free
        }
        seconds, before = budget.seconds(), search.score
        limit = None if seconds is None else min(self.limit, seconds)
        part = self._part(free, windows, limit, QUICK_WORK if seconds is None else None)
        answer = self.solver(part, budget)
        self._take(part, answer)
        proven = answer is not None and answer.proven
        self.jobs = min(self.jobs + 1, MOST_JOBS) if proven else max(self.jobs - 1, 1)
        if search.score < before:
            self.limit = QUICK_SECONDS
        elif not proven:
            self.limit = min(self.limit * PATIENCE, MOST_SECONDS)

    def _part(
        self,
        free: list[int],
        windows: Mapping[int, Bounds],
        seconds: float | None,
        work: float | None,
    ) -> Part:
        """Take works out and read where they may stand."""
        search, board = self.search, self.search.board
        self.rounds += 1
        stood = {i: (board.start[i], board.end[i], way) for i in free if (way := board.by[i])}
        for i in free:
            board.remove(i)
        touched = sorted({search.of[i] for i in free})
        counted = {n: [i for i in search.moves.counted[n] if i in stood] for n in touched}
        stays = {
            n: max((board.end[i] for i in search.moves.counted[n] if i not in stood), default=0)
            for n in touched
            if search.moves.counted[n]
        }
        spots = {i: spots_of(board, i, narrowed(board, i, windows[i], stood)) for i in free}
        return Part(
            board, stood, spots, stays, counted, seconds, work, self.seed * 1000 + self.rounds
        )

    def _take(self, part: Part, answer: Answer | None) -> None:
        """Put an answer in place; what stood, if that costs less with all that solvers leave out."""
        search = self.search
        before = search.cost
        self._put(part.stood if answer is None else answer.stands)
        search.moved(part.stood)
        if search.cost > before:
            for i in part.stood:
                search.board.remove(i)
            self._put(part.stood)
            search.moved(part.stood)

    def _put(self, stands: Mapping[int, Stood]) -> None:
        for i, at in stands.items():
            self.search.board.place(i, *at)


def narrowed(board: Board, i: int, window: Bounds, free: Collection[int]) -> Bounds:
    """Narrow a window to what links to works that stay allow."""
    start, start_by, end, end_by = window
    start, end = max(start, board.ready.floor[i], board.least[i][0]), max(end, board.least[i][1])
    end_by = min(end_by, board.ready.last[i])
    for bound, to_finish, least in _limits(board, i, free):
        if to_finish:
            end, end_by = (max(end, bound), end_by) if least else (end, min(end_by, bound))
        else:
            start, start_by = (
                (max(start, bound), start_by) if least else (start, min(start_by, bound))
            )
    return start, start_by, end, end_by


def _limits(board: Board, i: int, free: Collection[int]) -> Iterator[tuple[int, bool, bool]]:
    """What links to works that stay say of a work: bound, on its finish, as a least."""
    ready = board.ready
    for bind in ready.into[i]:
        if bind.before not in free:
            event = board.end[bind.before] if bind.from_finish else board.start[bind.before]
            yield bind.earliest[event], bind.to_finish, True
            if bind.latest is not None:
                yield bind.latest[event], bind.to_finish, False
    for j in ready.after[i]:
        if j not in free and j not in ready.fixed:
            yield from _limits_after(board, i, j)


def _limits_after(board: Board, i: int, j: int) -> Iterator[tuple[int, bool, bool]]:
    """The same of a work that follows."""
    way = board.by[j]
    for bind in board.ready.binds(j, way.option.crew if way else ""):
        if bind.before == i:
            event = board.end[j] if bind.to_finish else board.start[j]
            yield bind.latest_event[event], bind.from_finish, False
            if bind.earliest_event is not None:
                yield bind.earliest_event[event], bind.from_finish, True


def last_ends(search: Search, early: tuple[list[int], list[int]]) -> list[int]:
    """Return the last slot in which each work can end in any plan that is no worse than this one."""
    board, ready = search.board, search.board.ready
    caps = _caps(search, early)
    last = [
        min(ready.last[i], caps[search.of[i]] if w.counts else ready.last[i])
        for i, w in enumerate(ready.works)
    ]
    for i in reversed(ready.order):
        for bind in ready.into[i]:
            j = bind.before
            shortest = min((way.slots for way in board.lots.ways[i]), default=1)
            event = last[i] if bind.to_finish else last[i] - shortest + 1
            bound = bind.latest_event[min(max(event, 0), board.last_slot)]
            if bind.from_finish:
                last[j] = min(last[j], bound)
    return last


def _caps(search: Search, early: tuple[list[int], list[int]]) -> list[int]:
    """Last finish of each job in any plan that is no worse than this one."""
    size = search.board.last_slot
    soonest = [max((early[1][i] for i in works), default=0) for works in search.moves.counted]
    late = [search.lateness(n, end) for n, end in enumerate(soonest)]
    spare_late = search.score.late - sum(late)
    spare = search.score.finish - sum(soonest) if spare_late == 0 else size
    caps = []
    for n, job in enumerate(search.jobs):
        cap = soonest[n] + spare
        if job.promise is not None:
            days = (late[n] + spare_late) // max(job.weight, 1)
            day = job.promise // search.per_day + days
            cap = min(cap, (day + 1) * search.per_day - 1)
        caps.append(min(cap, size))
    return caps
