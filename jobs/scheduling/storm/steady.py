"""Search for a plan near an old one: each changed crew-day has a price, and so has lateness.

One try moves a few works (`aims` says which, `jostle` how). The walk may get a little worse meanwhile, less
and less so; the best plan by cost is kept. Late days are worth little up to those of pushing everything
right, in all and for each yard, and much beyond: what saves crew-days must not make one yard pay for all.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.dice import Dice
from jobs.scheduling.search.bounds import days_late

from .aims import Aims
from .jostle import Jostle

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.placing.board import Board
    from jobs.scheduling.placing.ways import Way
    from jobs.scheduling.world import World

    from .room import Aim
    from .standing import Standing

    Places = tuple[list[int], list[int], list[Way | None]]
    """Starts, ends and ways of all works."""

DAY_PRICE = 24.0
"""Slots that a changed crew-day is worth."""
FINISH_PRICE = 0.1
"""What a slot of finish is worth, so that of plans alike the sooner is taken."""
LATE_PRICE, OVER_PRICE = 0.5, 80.0
"""What a weighted day late is worth while fewer are late than allowed, and what each beyond is worth more."""
YARD_PRICE = 4.0
"""The same for each weighted day by which one yard is later than it may be."""
WIN_BACK_PRICE = 2.0
"""What a weighted day late beyond those of pushing right is worth in a beginning: a walk wins many of them back."""
LOOSE = 20.0
"""Slots of cost by which the walk may be worse than the best at first; nothing at the end."""


class Cost(NamedTuple):
    """What one yard costs: finish in slots, weighted days late, those beyond what it may be, and whole ones."""

    finish: float
    late: float
    over: float
    days: int = 0


@dataclass
class Near:
    """One walk on a board.

    Attributes
    ----------
    may_be_late
        Weighted days by which each yard may be late cheaply, by id; none where it is not named.
    most_late
        The same for all together.
    below
        Whole weighted days late that the best plan stays below, if any plan found does.
    best
        Starts, ends and ways of the best plan found.
    """

    standing: Standing
    may_be_late: Mapping[str, float]
    most_late: float
    seed: int = 0
    below: float = inf
    tried: int = 0
    best: Places = field(init=False)
    least: float = field(init=False)
    rank: tuple[bool, float] = field(init=False)
    costs: list[Cost] = field(init=False)
    whole: Cost = field(init=False)

    def __post_init__(self) -> None:
        """Count what stands on the board."""
        self.board: Board = self.standing.board
        self.aims = Aims(self.standing, Dice(self.seed, "near"), DAY_PRICE)
        self._begin()

    def _begin(self) -> None:
        self.standing.recount()
        self.costs = self._look_over()
        self.whole = _sum(self.costs)
        self.least = self._price(self.whole)
        self.rank = self._rank(self.whole, self.least)
        self._keep()

    def begin_anew(self, aims: Iterable[Aim], budget: Budget) -> None:
        """Begin from the best of plans in which many works are laid out anew, if one is better than what stands."""
        least, best = self._worth(self.whole), self.best
        for aim in aims:
            if budget():
                break
            jostle = Jostle(self.standing, aim, len(self.standing.free))
            if jostle.run() and (worth := self._worth(_sum(self._look_over()))) < least:
                least, best = worth, self._places()
            jostle.take_back()
        self.best = best
        self.restore()

    def _worth(self, whole: Cost) -> float:
        """Price a beginning: crew-days changed, and late days that the walk has to win back."""
        changed = DAY_PRICE * len(self.standing.crew_days.wrong)
        return changed + WIN_BACK_PRICE * max(0.0, whole.days - self.below)

    def run(self, budget: Budget) -> None:
        """Walk until the budget is spent."""
        while self.standing.movable and not budget():
            self.step(LOOSE * (1 - budget.spent()))

    def step(self, loose: float) -> None:
        """Try once; stay where the outcome is not more than ``loose`` worse than the best."""
        self.tried += 1
        late = [n for n in self.standing.movable if self.costs[n].late > 0]
        behind = [n for n in late if self.costs[n].over > 0]
        slow = late or self._later_than_told()
        aim = self.aims.choose(slow, behind, too_late=self.whole.late > self.most_late)
        jostle = Jostle(self.standing, aim)
        if not jostle.run() or not jostle.moved():
            jostle.take_back()
            return
        jobs = {self.standing.of[i] for i in jostle.stood}
        costs = {n: self._cost(n) for n in jobs}
        whole = self._changed(costs)
        price = self._price(whole)
        if price > self.least + loose:
            jostle.take_back()
            return
        self.whole = whole
        for n, cost in costs.items():
            self.costs[n] = cost
        self.least = min(self.least, price)
        rank = self._rank(whole, price)
        if rank < self.rank:
            self.rank = rank
            self._keep()

    def _later_than_told(self) -> list[int]:
        """Yards that end later than their owners were told, though no promise is in danger."""
        told = self.standing.told
        return [n for n in self.standing.movable if 0 <= told[n] < self.costs[n].finish]

    def _changed(self, costs: Mapping[int, Cost]) -> Cost:
        gone, come = _sum(self.costs[n] for n in costs), _sum(costs.values())
        whole = self.whole
        return Cost(
            whole.finish + come.finish - gone.finish,
            whole.late + come.late - gone.late,
            whole.over + come.over - gone.over,
            whole.days + come.days - gone.days,
        )

    def _rank(self, whole: Cost, price: float) -> tuple[bool, float]:
        return whole.days >= self.below, price

    def _price(self, whole: Cost) -> float:
        return (
            FINISH_PRICE * whole.finish
            + LATE_PRICE * whole.late
            + OVER_PRICE * max(0.0, whole.late - self.most_late)
            + YARD_PRICE * whole.over
            + DAY_PRICE * len(self.standing.crew_days.wrong)
        )

    def _cost(self, n: int) -> Cost:
        name, end = self.standing.jobs[n], self.board.end
        last = max((end[i] for i in self.standing.counted[n]), default=0)
        world = self.standing.ready.world
        late = lateness(world, name, last)
        days = days_late(world, world.jobs[name], last) * world.jobs[name].weight if late else 0
        return Cost(float(last), late, max(0.0, late - self.may_be_late.get(name, 0.0)), days)

    def _look_over(self) -> list[Cost]:
        return [self._cost(n) for n in range(len(self.standing.jobs))]

    def _keep(self) -> None:
        self.best = self._places()

    def _places(self) -> Places:
        board = self.board
        return board.start[:], board.end[:], board.by[:]

    def restore(self) -> None:
        """Put the best plan back on the board, and go on from there."""
        board, (start, end, by) = self.board, self.best
        for i in self.standing.free:
            board.remove(i)
        for i in self.standing.free:
            if (way := by[i]) is not None:
                board.place(i, start[i], end[i], way)
        self._begin()


def _sum(costs: Iterable[Cost]) -> Cost:
    found = list(costs)
    return (
        Cost(*(sum(column) for column in zip(*found, strict=True))) if found else Cost(0, 0, 0, 0)
    )


def lateness(world: World, name: str, last: int) -> float:
    """Return the weighted days a yard is late that ends in a slot, half of them counted by the slot."""
    job = world.jobs[name]
    if job.promise is None or last <= job.promise:
        return 0.0
    per_day = world.axes[job.zone].per_day
    return job.weight * (days_late(world, job, last) + (last - job.promise) / per_day) / 2
