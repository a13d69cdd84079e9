"""Better plans by taking a few jobs out and putting them back, again and again.

One try takes works of a few jobs out, gives some other turns (``moves``) and puts them back with the fast
builder into what the others leave; it is given up as soon as no end of it can be good enough (``reach``).
A strict "not worse" would get stuck, because the step from a day late to not late hides all progress; so the
search walks on a smooth cost, may get a little worse, less and less so, and the best plan by the true score
is kept aside.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from jobs.scheduling.dice import Dice
from jobs.scheduling.placing.putting import in_order, put_back
from jobs.scheduling.result import Score
from jobs.scheduling.weights import DAY_PRICE, UPSET_PRICE

from .bounds import days_late
from .moves import Moves
from .published import KeptDays
from .reach import reach_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.placing.board import Board
    from jobs.scheduling.placing.ways import Way

LOOSE, TIGHT = 20.0, 0.75
"""Days of finish by which a plan may be worse than the best, at the beginning and at the end.

Loose enough to leave the valley in which the quick builder begins: with 5 days some portfolios stay there."""
FREE_CHOICE = 0.7
"""Share of tries in which every work takes the crew that would be done first; fewer of them, and long walks end
with more days late."""
BY_LOT = 0.05
"""Share of works that are given to a crew drawn by lot in the other tries."""

Stood = tuple[list[int], list[int], "list[Way | None]"]


def stood_on(board: Board) -> Stood:
    """Starts, ends and ways of all works on a board."""
    return board.start[:], board.end[:], board.by[:]


@dataclass
class Search:
    """One walk from plan to plan.

    Attributes
    ----------
    best
        Starts, ends and ways of the best plan by the true score.
    """

    board: Board
    seed: int
    told: Callable[[Score, int], None] | None = None
    tried: int = 0
    score: Score = field(init=False)
    best: Stood = field(init=False)

    def __post_init__(self) -> None:
        """Read what the jobs are made of."""
        self.dice = Dice(self.seed, "search")
        self.per_day = self.board.ready.per_day
        self.jobs = list(self.board.ready.world.jobs.values())
        self.late = [0] * len(self.jobs)
        self.moves = Moves(self.board, self.dice, self.late)
        self.of = self.moves.of
        self.pairs: list[list[tuple[int, int]]] = [[] for _ in self.jobs]
        for i, j in self.board.lots.first:
            self.pairs[self.of[i]].append((i, j))
        self.reach = reach_of(self.board)
        self.kept = KeptDays(self.board) if self.board.ready.world.published else None
        self.restart()

    def restart(self) -> None:
        """Go on from where the board stands, all that was found before forgotten."""
        self._read()
        self.score = Score(sum(self.late), self.upset, sum(self.ends))
        self._keep()

    def _read(self) -> None:
        """Read from the board what each job costs."""
        ends = [self._end(n) for n in range(len(self.jobs))]
        self.ends = ends
        self.costs = [self._cost(n, end) for n, end in enumerate(ends)]
        self.late[:] = [self.lateness(n, end) for n, end in enumerate(ends)]
        self.upset = self._recounted()
        self.cost = self.least = sum(self.costs) + self._price(self.upset)

    def _recounted(self) -> int:
        """Upset of what is published, counted anew."""
        if self.kept is None:
            return 0
        self.kept.recount()
        return self.kept.upset

    def _price(self, upset: int) -> float:
        return upset * UPSET_PRICE * self.per_day

    def _end(self, n: int) -> int:
        end = self.board.end
        return max([end[i] for i in self.moves.counted[n]], default=0)

    def lateness(self, n: int, end: int) -> int:
        """Weighted days by which a job is late that ends in a slot."""
        job = self.jobs[n]
        late = days_late(self.board.ready.world, job, end) if self.moves.counted[n] else 0
        return late * job.weight

    def _cost(self, n: int, end: int) -> float:
        """Smooth cost of a job in slots: its finish, and the price of being late."""
        job = self.jobs[n]
        if job.promise is None or end <= job.promise:
            return end
        late = end // self.per_day - job.promise // self.per_day
        half = DAY_PRICE * self.per_day / 2
        return end + job.weight * half * (late + (end - job.promise) / self.per_day)

    def _keep(self) -> None:
        self.best = stood_on(self.board)

    def to_best(self) -> None:
        """Go back to the best plan by the true score."""
        self._go_to(self.best)
        self.restart()

    def _go_to(self, stood: Stood) -> None:
        board, (start, end, by) = self.board, stood
        moved = [
            i for i in range(len(start)) if board.by[i] is not by[i] or board.start[i] != start[i]
        ]
        for i in moved:
            board.remove(i)
        for i in moved:
            if (way := by[i]) is not None:
                board.place(i, start[i], end[i], way)

    def moved(self, works: Iterable[int]) -> None:
        """Take note that somebody else moved some works on the board."""
        touched = {self.of[i] for i in works}
        ends = {n: self._end(n) for n in touched}
        costs = {n: self._cost(n, end) for n, end in ends.items()}
        upset = self._recounted()
        self._accept(self._changed(costs, upset), ends, costs, upset)

    def _changed(self, costs: Mapping[int, float], upset: int) -> float:
        """Cost of the whole if some jobs cost this and so much is upset."""
        gone = sum(self.costs[n] for n in costs)
        return self.cost + sum(costs.values()) - gone + self._price(upset - self.upset)

    def run_from(self, begins: Sequence[Stood], budget: Budget) -> None:
        """Walk from one plan after the other, a share of the budget each; the best of all is kept aside."""
        for n, stood in enumerate(begins, start=1):
            self._go_to(stood)
            self._read()
            self._offer()
            self.run(budget.part(n / len(begins)))

    def run(self, budget: Budget) -> None:
        """Walk until the budget is spent."""
        slots = self.per_day
        while self.moves.movable and not budget():
            width = LOOSE + (TIGHT - LOOSE) * budget.spent()
            self.step(width * slots)

    def step(self, width: float) -> None:
        """Try once; stay where the outcome is not more than ``width`` worse than the best."""
        board = self.board
        self.tried += 1
        turns = self.moves.choose()
        freed = list(turns)
        touched = {self.of[i] for i in freed}
        pairs = self._pairs(touched)
        hopeless = self._hopeless(turns, touched, self.least + width)
        back = board.mark(freed)
        self._count(freed, -1)
        for i in freed:
            board.remove(i)
        told = self._tell_crews(freed)
        put = put_back(board, in_order(board.lots, turns, pairs), hopeless)
        for i in told:
            board.ways[i] = board.lots.ways[i]
        if not put:
            board.go_back(back)
            self._count(freed, 1)
            return
        self._count(freed, 1)
        upset = self.kept.upset if self.kept else 0
        ends = {n: self._end(n) for n in touched}
        costs = {n: self._cost(n, end) for n, end in ends.items()}
        cost = self._changed(costs, upset)
        if cost > self.least + width:
            self._count(freed, -1)
            board.go_back(back)
            self._count(freed, 1)
            return
        self._accept(cost, ends, costs, upset)

    def _pairs(self, touched: Iterable[int]) -> Sequence[tuple[int, int]]:
        """Pairs of which one goes first, forerunners first; with links between jobs only the whole list is in that order."""
        if self.moves.crossing:
            return self.board.lots.first
        return [pair for n in touched for pair in self.pairs[n]]

    def _hopeless(
        self, freed: Mapping[int, float], touched: Iterable[int], most: float
    ) -> Callable[[int, int], bool]:
        """Return a question: once a work ends in a slot, will the whole cost too much in any case?"""
        of, reach, stood = self.of, self.reach, self.board.end
        spare = most - self.cost + self._price(self.upset)
        ends = {}
        for n in touched:
            ends[n] = max([stood[i] for i in self.moves.counted[n] if i not in freed], default=0)
            spare += self.costs[n] - self._cost(n, ends[n])

        def ask(i: int, end: int) -> bool:
            nonlocal spare
            n, soonest = of[i], reach[i][end]
            if soonest > ends[n]:
                spare -= self._cost(n, soonest) - self._cost(n, ends[n])
                ends[n] = soonest
            return spare < 0

        return ask

    def _count(self, works: Iterable[int], sign: int) -> None:
        if self.kept is not None:
            self.kept.count(works, sign)

    def _tell_crews(self, freed: Iterable[int]) -> list[int]:
        """Give some works to a crew drawn by lot: the first one done is not always the best one."""
        dice, ways = self.dice, self.board.ways
        told: list[int] = []
        if dice.share() < FREE_CHOICE:
            return told
        for i in freed:
            if len(ways[i]) > 1 and dice.share() < BY_LOT:
                ways[i] = (ways[i][dice.below(len(ways[i]))],)
                told.append(i)
        return told

    def _accept(
        self, cost: float, ends: dict[int, int], costs: dict[int, float], upset: int
    ) -> None:
        self.cost, self.upset = cost, upset
        self.least = min(self.least, cost)
        for n, end in ends.items():
            if end != self.ends[n]:
                self.late[n] = self.lateness(n, end)
                self.ends[n], self.costs[n] = end, costs[n]
        self._offer()

    def _offer(self) -> None:
        """Keep where the board stands aside if it is the best so far."""
        score = Score(sum(self.late), self.upset, sum(self.ends))
        if score < self.score:
            self.score = score
            self._keep()
            if self.told is not None:
                self.told(score, self.tried)
