"""Better plans by taking a few jobs out and putting them back, again and again.

One try takes one to four jobs out (whole, or all of them from a moment on), shifts their turns at random
and puts them back with the fast builder into what the others leave. A strict "not worse" would get stuck,
because the step from a day late to not late hides all progress; so the search walks on a smooth cost, may
get a little worse, less and less so, and the best plan by the true score is kept aside.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from jobs.scheduling.dice import Dice
from jobs.scheduling.placing.putting import in_order, put_back
from jobs.scheduling.result import Score
from jobs.scheduling.weights import DAY_PRICE, UPSET_PRICE

from .bounds import days_late
from .published import KeptDays

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.placing.board import Board
    from jobs.scheduling.placing.lots import Way

LOOSE, TIGHT = 5.0, 0.75
"""Days of finish by which a plan may be worse than the best, at the beginning and at the end."""
LATE_FIRST = 0.6
"""Share of tries that begin with a late job."""
FREE_CHOICE = 0.4
"""Share of tries in which every work takes the crew that would be done first."""
BY_LOT = 0.05
"""Share of works that are given to a crew drawn by lot in the other tries."""
WHOLE = 0.25
"""Share of tries that take jobs out whole."""


FEW, FEW_JOBS = 0.85, 5
"""Share of tries in which only one to four works change their turns, but far; among many jobs the order
between jobs matters more than within them, so the share falls beyond ``FEW_JOBS``."""
FAR_DAYS = 15.0
"""Standard distance by which these move, in days."""
SHIFTS = (0.5, 2.0, 6.0)
"""Standard widths in days by which turns of jobs are shifted."""

Stood = tuple[list[int], list[int], "list[Way | None]"]


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
        works, lots = self.board.ready.works, self.board.lots
        self.dice = Dice(self.seed, "search")
        self.per_day = self.board.ready.per_day
        self.jobs = list(self.board.ready.world.jobs)
        number = {name: n for n, name in enumerate(self.jobs)}
        self.of = [number[work.job] for work in works]
        self.members = self._by_job(i for i in range(len(works)) if lots.ways[i])
        self.counted = self._by_job(i for i, work in enumerate(works) if work.counts)
        self.movable = [n for n, members in enumerate(self.members) if members]
        self.pairs: list[list[tuple[int, int]]] = [[] for _ in self.jobs]
        self.crossing: list[tuple[int, int]] = []
        self.after: list[list[int]] = [[] for _ in works]
        for i, j in lots.first:
            same = self.of[i] == self.of[j]
            (self.pairs[self.of[i]] if same else self.crossing).append((i, j))
            self.after[i].append(j)
        self._read_fans()
        self.kept = KeptDays(self.board) if self.board.ready.world.published else None
        self.restart()

    def _by_job(self, works: Iterable[int]) -> list[list[int]]:
        found: list[list[int]] = [[] for _ in self.jobs]
        for i in works:
            found[self.of[i]].append(i)
        return found

    def _read_fans(self) -> None:
        """Read which works could use each crew and machine."""
        works, ways = self.board.ready.works, self.board.lots.ways
        self.drawn = [
            [("crew", way.option.crew) for way in ways[i] if way.option.crew]
            + [("machine", name) for name in work.machines]
            for i, work in enumerate(works)
        ]
        self.fans: dict[tuple[str, str], list[int]] = {}
        for i, drawn in enumerate(self.drawn):
            for what in dict.fromkeys(drawn):
                self.fans.setdefault(what, []).append(i)

    def restart(self) -> None:
        """Go on from where the board stands."""
        ends = [self._end(n) for n in range(len(self.jobs))]
        self.ends = ends
        self.costs = [self._cost(n, end) for n, end in enumerate(ends)]
        self.late = [self.lateness(n, end) for n, end in enumerate(ends)]
        self.upset = self._recounted()
        self.cost = self.least = sum(self.costs) + self._price(self.upset)
        self.score = Score(sum(self.late), self.upset, sum(ends))
        self._keep()

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
        return max((end[i] for i in self.counted[n]), default=0)

    def lateness(self, n: int, end: int) -> int:
        """Weighted days by which a job is late that ends in a slot."""
        job = self.board.ready.world.jobs[self.jobs[n]]
        return days_late(self.board.ready.world, job, end) * job.weight if self.counted[n] else 0

    def _cost(self, n: int, end: int) -> float:
        """Smooth cost of a job in slots: its finish, and the price of being late."""
        job = self.board.ready.world.jobs[self.jobs[n]]
        if job.promise is None or end <= job.promise:
            return end
        late = end // self.per_day - job.promise // self.per_day
        half = DAY_PRICE * self.per_day / 2
        return end + job.weight * half * (late + (end - job.promise) / self.per_day)

    def _keep(self) -> None:
        board = self.board
        self.best = board.start[:], board.end[:], board.by[:]

    def to_best(self) -> None:
        """Go back to the best plan by the true score."""
        board, (start, end, by) = self.board, self.best
        moved = [
            i for i in range(len(start)) if board.by[i] is not by[i] or board.start[i] != start[i]
        ]
        for i in moved:
            board.remove(i)
        for i in moved:
            if (way := by[i]) is not None:
                board.place(i, start[i], end[i], way)
        self.restart()

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

    def run(self, budget: Budget) -> None:
        """Walk until the budget is spent."""
        slots = self.per_day
        while self.movable and not budget():
            width = LOOSE + (TIGHT - LOOSE) * budget.spent()
            self.step(width * slots)

    def step(self, width: float) -> None:
        """Try once; stay where the outcome is not more than ``width`` worse than the best."""
        board = self.board
        self.tried += 1
        freed = self._choose()
        touched = {self.of[i] for i in freed}
        keys = self._keys(freed, touched)
        back = board.mark(freed)
        self._count(freed, -1)
        for i in freed:
            board.remove(i)
        pairs = [pair for n in touched for pair in self.pairs[n]] + self.crossing
        told = self._tell_crews(freed)
        put = put_back(board, in_order(board.lots, keys, pairs))
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
        score = Score(sum(self.late), upset, sum(self.ends))
        if score < self.score:
            self.score = score
            self._keep()
            if self.told is not None:
                self.told(score, self.tried)

    def _choose(self) -> list[int]:
        """Choose works to take out: of a job and its neighbours, whole or from a moment on."""
        dice, start = self.dice, self.board.start
        first = self.choose_first()
        anchor = self.members[first][dice.below(len(self.members[first]))]
        moment = -1 if dice.share() < WHOLE else start[anchor]
        jobs = {first}
        for _ in range(dice.below(4)):
            jobs.add(self.neighbour(first, moment))
        freed = [i for n in jobs for i in self.members[n] if start[i] >= moment]
        return self.closed(freed) if moment >= 0 or self.crossing else freed

    def choose_first(self) -> int:
        """Choose a job, more often one that is late."""
        late = [n for n in self.movable if self.late[n]]
        if late and self.dice.share() < LATE_FIRST:
            return late[self.dice.below(len(late))]
        return self.movable[self.dice.below(len(self.movable))]

    def neighbour(self, job: int, moment: int = -1) -> int:
        """Return a job that stands near in time on a crew or machine that this one could use."""
        dice, start, of = self.dice, self.board.start, self.of
        members = self.members[job]
        for _ in range(4):
            i = members[dice.below(len(members))]
            if start[i] < moment or not self.drawn[i]:
                continue
            fans = self.fans[self.drawn[i][dice.below(len(self.drawn[i]))]]
            j = fans[dice.below(len(fans))]
            if of[j] != job and abs(start[j] - start[i]) < 8 * self.per_day and self.members[of[j]]:
                return of[j]
        return job

    def closed(self, freed: list[int]) -> list[int]:
        """Add whatever follows a work that is taken out."""
        found, fixed = set(freed), self.board.ready.fixed
        for i in freed:  # grows as it is read
            for j in self.after[i]:
                if j not in found and j not in fixed:
                    found.add(j)
                    freed.append(j)
        return freed

    def _keys(self, freed: Sequence[int], touched: Iterable[int]) -> dict[int, float]:
        """Turns of the works: where they stand, a few moved far, or each job shifted as a whole."""
        dice, start, of = self.dice, self.board.start, self.of
        if dice.share() < min(FEW, FEW_JOBS / len(self.movable)):
            keys = {i: float(start[i]) for i in freed}
            for _ in range(1 + dice.below(4)):
                keys[freed[dice.below(len(freed))]] += dice.bell(FAR_DAYS * self.per_day)
            return keys
        width = SHIFTS[dice.below(len(SHIFTS))] * self.per_day
        shift = {n: dice.bell(width) for n in sorted(touched)}
        return {i: start[i] + shift[of[i]] for i in freed}
