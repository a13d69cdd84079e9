"""Search for a plan near an old one: each changed crew-day has a price, and so has each late day.

One try takes some jobs out from a moment on and puts them back, each work where the old plan had it if it may
stand there, else where it is done first. With a price of nothing the search looks for early finishes alone.
The best plan by cost is kept; the walk may get a little worse meanwhile, less and less so.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from .afoot import first_place
from .bounds import days_late
from .crew_days import CrewDay, CrewDays
from .dice import Dice
from .hurdles import ground_of, jammed
from .putting import in_order, put_back
from .upset import counted_days, tours

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from .board import Board, Found
    from .hurdles import Ground
    from .lots import Way
    from .repair import Mender
    from .result import Placement, Stop
    from .world import World

DAY_PRICE = 80.0
"""Slots of finish that a weighted day late is worth where changes are free."""
MILD_PRICE = 3.0
"""The same where they have a price, up to as many late days as are allowed; beyond them it is
``OVER_PRICE`` more."""
OVER_PRICE = 120.0
LOOSE = 40.0
"""Slots of cost by which the walk may be worse than the best at first; nothing at the end."""
SHIFTS = (0.0, 3.0, 12.0, 36.0)
"""Standard widths in slots by which turns of jobs are shifted."""
KEEPING = 0.8
"""Share of tries that look for the old place first, while changes have a price."""
UPSET_FIRST = 0.8
"""Share of tries that begin with a job on a changed crew-day, while changes have a price."""
ONE_JOB = 0.4
"""Share of tries at a changed crew-day that take only one of the jobs that differ."""
MORE_JOBS = 0.4
"""Share of tries that take any other job besides."""

Bounds = tuple[int, int, int, int]


@dataclass
class Near:
    """One walk.

    Attributes
    ----------
    before
        The world in which the old plan stood.
    price
        Slots of finish that a changed crew-day is worth.
    most_late
        Weighted days late that are worth little, so that crew-days come first.
    best
        Starts, ends and ways of the best plan found.
    """

    mender: Mender
    before: World
    old: Mapping[str, Placement]
    last_lost: int
    price: float
    seed: int = 0
    most_late: float = 0.0
    tried: int = 0
    best: tuple[list[int], list[int], list[Way | None]] = field(init=False)
    least: float = field(init=False)
    finish: float = field(init=False)
    late: float = field(init=False)

    def __post_init__(self) -> None:
        """Read what the jobs are made of, and what the board costs as it stands."""
        board, world = self.mender.board, self.mender.ready.world
        self.board, self.works = board, self.mender.ready.works
        self.dice, self.per_day = Dice(self.seed, "near"), self.mender.ready.per_day
        self.jobs = list(world.jobs)
        number = {name: n for n, name in enumerate(self.jobs)}
        self.of = [number[work.job] for work in self.works]
        self.counted: list[list[int]] = [[] for _ in self.jobs]
        self.members: list[list[int]] = [[] for _ in self.jobs]
        for i, work in enumerate(self.works):
            if work.counts:
                self.counted[self.of[i]].append(i)
            if i not in self.mender.ready.fixed:
                self.members[self.of[i]].append(i)
        self.movable = [n for n, members in enumerate(self.members) if members]
        self.pairs, self.crossing = self._pairs()
        self.after: list[list[int]] = [[] for _ in self.works]
        for i, j in board.lots.first:
            self.after[i].append(j)
        days = counted_days(self.before, self.last_lost)
        self.crew_days = CrewDays(self._old_tours(), days, self.per_day)
        self.stood = {i: found for i in self.mender.free if (found := self._stood(i)) is not None}
        self._begin()

    def _stood(self, i: int) -> Found | None:
        """Where and by whom a work was to be done, if its slots are still those."""
        at = self.mender.old.get(i)
        if at is None or at.start < 0:
            return None
        for way in self.board.lots.ways[i]:
            if way.option.crew == at.crew and set(way.units) <= set(at.machines):
                place = way.rank[at.start]
                last = way.opened[place + way.slots - 1]
                if (way.opened[place], last) == (at.start, at.end):
                    return at.start, at.end, way
        return None

    def run(self, stop: Stop, share: float = 1.0) -> None:
        """Walk until told to stop; ``share`` scales how much worse the walk may get at first."""
        loose = LOOSE * share
        while self.movable and not stop():
            self.step(loose)
            loose *= 0.999

    def restore(self) -> None:
        """Put the best plan back on the board."""
        board = self.board
        start, end, by = self.best
        free = self.mender.free
        for i in free:
            board.remove(i)
        for i in free:
            way = by[i]
            if way is not None:
                board.place(i, start[i], end[i], way)

    def step(self, loose: float) -> None:
        """Take some works out and put them back; keep the outcome if it is not much worse."""
        board = self.board
        self.tried += 1
        freed = self._choose()
        jobs = sorted({self.of[i] for i in freed})
        turns = self._turns(freed, jobs)
        pairs = [pair for n in jobs for pair in self.pairs[n]] + self.crossing
        back = board.mark(freed)
        gone = self._count(freed, -1)
        for i in freed:
            board.remove(i)
        order = in_order(board.lots, turns, pairs)
        keeping = self.price > 0 and self.dice.share() < KEEPING
        come: list[tuple[CrewDay, int]] = []
        if not (self._put_near(order, come) if keeping else put_back(board, order)):
            board.go_back(back)
            self.crew_days.count(come, -1)
            self.crew_days.count(gone, 1)
            return
        if not keeping:
            come = self._count(freed, 1)
        costs = {n: self._cost(n) for n in jobs}
        finish = self.finish + sum(costs[n][0] - self.costs[n][0] for n in jobs)
        late = self.late + sum(costs[n][1] - self.costs[n][1] for n in jobs)
        cost = self._whole(finish, late)
        if cost > self.least + loose:
            self.crew_days.count(come, -1)
            board.go_back(back)
            self.crew_days.count(gone, 1)
            return
        self.finish, self.late = finish, late
        for n in jobs:
            self.costs[n] = costs[n]
        if cost < self.least:
            self.least = cost
            self._keep()

    def _begin(self) -> None:
        ready = self.mender.ready
        for i, at in ready.fixed.items():
            if at.crew:
                span = (at.start, at.end)
                self.crew_days.count(
                    self.crew_days.of(at.crew, self.of[i], ready.held(i, at).bits, span), 1
                )
        self._count(self.mender.free, 1)
        self.costs = [self._cost(n) for n in range(len(self.jobs))]
        self.finish = sum(cost[0] for cost in self.costs)
        self.late = sum(cost[1] for cost in self.costs)
        self.least = self._whole(self.finish, self.late)
        self._keep()

    def _whole(self, finish: float, late: float) -> float:
        """Cost of a plan: its finishes, its late days and the crew-days it changes."""
        if not self.price:
            return finish + DAY_PRICE * late
        over = max(0.0, late - self.most_late)
        return (
            finish + MILD_PRICE * late + OVER_PRICE * over + self.price * len(self.crew_days.wrong)
        )

    def _keep(self) -> None:
        board = self.board
        self.best = board.start[:], board.end[:], board.by[:]

    def _pairs(self) -> tuple[list[list[tuple[int, int]]], list[tuple[int, int]]]:
        own: list[list[tuple[int, int]]] = [[] for _ in self.jobs]
        crossing = []
        for i, j in self.board.lots.first:
            if self.of[i] == self.of[j]:
                own[self.of[i]].append((i, j))
            else:
                crossing.append((i, j))
        return own, crossing

    def _old_tours(self) -> dict[CrewDay, frozenset[int]]:
        number = {name: n for n, name in enumerate(self.jobs)}
        return {
            key: frozenset(number[job] for job in jobs)
            for key, jobs in tours(self.before, self.old).items()
        }

    def _cost(self, n: int) -> tuple[float, float]:
        """Finish of a job in slots, and its weighted days late, half of them counted by the slot."""
        world = self.mender.ready.world
        job, end = world.jobs[self.jobs[n]], self.board.end
        last = max((end[i] for i in self.counted[n]), default=0)
        if job.promise is None or last <= job.promise:
            return float(last), 0.0
        by_slot = (last - job.promise) / self.per_day
        return float(last), job.weight * (days_late(world, job, last) + by_slot) / 2

    def _count(self, works: Sequence[int], sign: int) -> list[tuple[CrewDay, int]]:
        """Count the crew-days of works in or out; return them."""
        board, found = self.board, []
        for i in works:
            way = board.by[i]
            if way is not None and way.option.crew:
                found += self._add(way, self.of[i], (board.start[i], board.end[i]), sign)
        return found

    def _add(
        self, way: Way, job: int, span: tuple[int, int], sign: int
    ) -> list[tuple[CrewDay, int]]:
        found = self.crew_days.of(way.option.crew, job, way.bits, span)
        self.crew_days.count(found, sign)
        return found

    def _choose(self) -> list[int]:
        """Choose the works of some jobs from a moment on, with whatever follows them."""
        dice, start = self.dice, self.board.start
        jobs, moment = self._changed() or self._anywhere()
        if dice.share() < MORE_JOBS:
            jobs = {*jobs, self.movable[dice.below(len(self.movable))]}
        freed = [i for n in sorted(jobs) for i in self.members[n] if start[i] >= moment]
        return self._closed(freed)

    def _changed(self) -> tuple[set[int], int] | None:
        """Return the jobs that differ on a changed crew-day, and a slot shortly before it."""
        dice = self.dice
        if not (self.price and self.crew_days.wrong and dice.share() < UPSET_FIRST):
            return None
        changed = sorted(self.crew_days.wrong, key=lambda key: (key[1], key[0]))
        crew, day = changed[dice.below(len(changed))]
        able = [n for n in self.crew_days.differing((crew, day)) if self.members[n]]
        if not able:
            return None
        if dice.share() < ONE_JOB:
            able = [able[dice.below(len(able))]]
        return set(able), (day - dice.below(4)) * self.per_day

    def _anywhere(self) -> tuple[set[int], int]:
        """Return any job, and the slot in which one of its works starts."""
        dice = self.dice
        n = self.movable[dice.below(len(self.movable))]
        return {n}, self.board.start[self.members[n][dice.below(len(self.members[n]))]]

    def _closed(self, freed: list[int]) -> list[int]:
        found, fixed = set(freed), self.mender.ready.fixed
        for i in freed:  # grows as it is read
            for j in self.after[i]:
                if j not in found and j not in fixed:
                    found.add(j)
                    freed.append(j)
        return freed

    def _turns(self, freed: Sequence[int], jobs: Sequence[int]) -> dict[int, float]:
        """Turns of the works: as they stand or as they stood, each job shifted."""
        dice, old = self.dice, self.mender.turn
        stood = self.price > 0 and dice.share() < KEEPING / 2
        width = SHIFTS[dice.below(len(SHIFTS))]
        shift = {n: dice.bell(width) for n in jobs}
        base = old if stood else dict(enumerate(self.board.start))
        return {i: base[i] + shift[self.of[i]] for i in freed}

    def _put_near(self, order: Sequence[int], come: list[tuple[CrewDay, int]]) -> bool:
        """Put works where they were, else where that upsets least; False if one finds no place."""
        board = self.board
        for i in order:
            bounds = board.bounds(i, board.least[i])
            ground, taken = self._taken(i)
            found = self._old_place(i, bounds, taken, ground)
            if found is None:
                found = self._nearest(i, bounds, taken, ground)
            if found is None:
                return False
            board.place(i, *found)
            if found[2].option.crew:
                come += self._add(found[2], self.of[i], (found[0], found[1]), 1)
        return True

    def _taken(self, i: int) -> tuple[Ground, tuple[int, int]]:
        """Read what forbids slots to a work whoever does it: its ground, full places, jammed ways."""
        board, full, jam = self.board, 0, 0
        ground = ground_of(board.ledger, i)
        for passage in board.ledger.demands[i].ways:
            jam |= jammed(board.ledger, passage)
        for key in board.lots.full[i]:
            full |= board.held[key]
        return ground, (full | ground.bits, jam)

    def _old_place(
        self, i: int, bounds: Bounds, taken: tuple[int, int], ground: Ground
    ) -> Found | None:
        """Return where the old plan had a work, if it may stand there."""
        known = self.stood.get(i)
        if known is None:
            return None
        start, end, way = known
        low, by, least, last = bounds
        if not (low <= start <= by and least <= end <= last):
            return None
        found = place_by(self.board, i, way, (start, start, end, end), taken, ground)
        return None if found is None else known

    def _nearest(
        self, i: int, bounds: Bounds, taken: tuple[int, int], ground: Ground
    ) -> Found | None:
        """Return the place that costs least: its end, and each crew-day it would change."""
        job = self.of[i]
        low, by, least, last = bounds
        best: Found | None = None
        cost = float("inf")
        for way in self.board.lots.ways[i]:
            for start in (low, *self.crew_days.next_visit(way.option.crew, job, low)):
                within = (start, by, least, last)
                found = place_by(self.board, i, way, within, taken, ground)
                if found is None:
                    break
                strange = 0
                if way.option.crew:
                    strange = self.crew_days.strange(way.option.crew, job, found)
                price = found[1] + self.price * strange
                if price < cost:
                    best, cost = (*found, way), price
        return best


def place_by(
    board: Board, i: int, way: Way, bounds: Bounds, taken: tuple[int, int], ground: Ground
) -> tuple[int, int] | None:
    """Return the soonest place for a work done in one way, or None.

    Parameters
    ----------
    taken
        Slots that are forbidden whoever does it, and those in which a way in is jammed.
    """
    start, start_by, end, end_by = bounds
    for bind in way.option.binds:
        event = board.end[bind.before] if bind.from_finish else board.start[bind.before]
        bound = bind.earliest[event]
        start, end = (start, max(end, bound)) if bind.to_finish else (max(start, bound), end)
    forbidden = taken[0] | board.taken(way, taken[1])
    return first_place(board.ledger, i, way, (start, start_by, end, end_by), forbidden, ground)
