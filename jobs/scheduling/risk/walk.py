"""All futures of a plan walked at once: every work is placed in all of them before the next.

The trick is the search for the n-th open slot of all futures together: open slots that are neither lost nor
taken are counted, and the search is a binary one in those counts. A crew that waits for the weather on one
work gets on with the next in the plan's order.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np

from jobs.scheduling.calendars import Calendar, work_bits
from jobs.scheduling.waits import Wait
from jobs.trade.work import Clock, Relation

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import Work, World

    from .order import Follow

    Slots = NDArray[np.int64]
    Marks = NDArray[np.bool_]

NOBODY = -1


class Draws(Protocol):
    """What is drawn for each future."""

    futures: int

    def slots(self, work: Work, planned: int) -> Slots:
        """Slots a work takes."""
        ...

    def lost(self, work: Work) -> Marks | None:
        """Slots lost to a work, (slots, futures) from the first that is drawn; None without weather."""
        ...

    def amounts(self, follow: Follow) -> Slots | None:
        """Business days of a wait; None for the plan's own."""
        ...

    def ready_at(self, follow: Follow, event: Slots, minutes: Slots) -> Slots | None:
        """Minute from which a wait is over, by slot and minute of its event; None for the plan's own."""
        ...


class Ends(NamedTuple):
    """Where a work stands in each future, and which work it waited for last."""

    start: Slots
    end: Slots
    held_by: Slots


class Counts(NamedTuple):
    """Open slots, and how many of them are not lost before each, by future."""

    open: Slots
    good: NDArray[np.int16]


class Walk:
    """Places works in all futures, in order.

    Parameters
    ----------
    first
        First slot that weather is drawn for.
    size
        Slots looked at; what does not end within them ends at ``size``.
    floors
        Earliest start of a work by whatever the order does not tell.
    """

    def __init__(
        self,
        world: World,
        plan: Plan,
        waits: Mapping[str, Sequence[Follow]],
        draws: Draws,
        bounds: tuple[int, int],
    ) -> None:
        self.world, self.plan, self.waits, self.draws = world, plan, waits, draws
        self.first, self.size = bounds
        self.column = np.arange(draws.futures)
        self.number = {work: n for n, work in enumerate(world.works)}
        self.placed: dict[str, Ends] = {}
        self._opened: dict[int, Slots] = {}
        self._busy: dict[str, Marks] = {}
        self._waits: dict[tuple[object, ...], Wait] = {}
        self._begin = {zone: np.array(axis.begin) for zone, axis in world.axes.items()}
        self._end = {zone: np.array(axis.end) for zone, axis in world.axes.items()}

    def run(self, order: Sequence[str], floors: Mapping[str, int]) -> Mapping[str, Ends]:
        """Place every work."""
        for name in order:
            self.placed[name] = self._place(self.world.works[name], floors.get(name, 0))
        return self.placed

    # -- one work --------------------------------------------------------------------------

    def _place(self, work: Work, floor: int) -> Ends:
        at = self.plan[work.id]
        nobody = np.full(self.draws.futures, NOBODY)
        if work.done is not None and work.done.end is not None:
            return Ends(self._same(at.start), self._same(at.end), nobody)
        if work.done is not None:
            planned = work.crews.get(at.crew, work.slots)
            _, end = self._fit(work, self._same(self.world.now), self._same(0), planned)
            return Ends(self._same(at.start), end, nobody)
        start, end, by = self._bounds(work, floor)
        first, last = self._fit(work, start, end, work.crews.get(at.crew, work.slots))
        return Ends(first, last, by)

    def _same(self, slot: int) -> Slots:
        return np.full(self.draws.futures, slot)

    def _bounds(self, work: Work, floor: int) -> tuple[Slots, Slots, Slots]:
        """Earliest first and last slot of a work, and who is to blame for it."""
        given = (self.world.now, self.world.jobs[work.job].release, work.pin.not_before or 0, floor)
        start, end = self._same(max(given)), self._same(0)
        by = self._same(NOBODY)
        for follow in self.waits[work.id]:
            if follow.before not in self.placed:
                continue
            bound = self._ready(follow, work)
            best = end if follow.relation.to_finish else start
            by = np.where(bound > np.maximum(start, end), self.number[follow.before], by)
            np.maximum(best, bound, out=best)
        return start, end, by

    def _ready(self, follow: Follow, work: Work) -> Slots:
        """Earliest slot of the follower's event that a wait allows, in each future."""
        relation, lag = follow.relation, follow.lag
        ends = self.placed[follow.before]
        event = np.minimum(ends.end if relation.from_finish else ends.start, self.size - 1)
        over = (ends.end if relation.from_finish else ends.start) >= self.size
        zone = self._zone(self.world.works[follow.before])
        edges = self._end if relation.from_finish else self._begin
        minutes = edges[zone][event]
        ready = self.draws.ready_at(follow, event, minutes)
        if ready is None and lag.clock is not Clock.ELAPSED and lag.amount:
            found = self._counted(follow, work, event)
        else:
            ready = minutes + lag.amount if ready is None else ready
            side = self._end if relation.to_finish else self._begin
            found = np.searchsorted(side[self._zone(work)], ready)
        return np.where(over, self.size, np.minimum(found, self.size))

    def _zone(self, work: Work) -> str:
        return self.world.jobs[work.job].zone

    def _counted(self, follow: Follow, work: Work, event: Slots) -> Slots:
        """Earliest slot after a wait in working time or business days, looked up once for each event."""
        amounts = self.draws.amounts(follow)
        if amounts is None:
            amounts = self._same(follow.lag.amount)
        pairs, back = np.unique(np.stack([event, amounts]), axis=1, return_inverse=True)
        found = [self._wait(follow, work, int(n)).earliest(int(slot)) for slot, n in pairs.T]
        return np.array(found)[back]

    def _wait(self, follow: Follow, work: Work, amount: int) -> Wait:
        before = self._zone(self.world.works[follow.before])
        bits = work_bits(self.world, work, self.plan[work.id].crew)
        own = bits if follow.lag.clock is Clock.WORK else 0
        key = (before, self._zone(work), follow.lag, follow.relation, own, amount)
        if key not in self._waits:
            axes = self.world.axes
            self._waits[key] = Wait(
                replace(follow.lag, amount=amount),
                Relation(follow.relation),
                axes[before],
                axes[self._zone(work)],
                Calendar(own, axes[before].size),
                self.world.holidays,
            )
        return self._waits[key]

    # -- the search ------------------------------------------------------------------------

    def _fit(self, work: Work, start: Slots, end: Slots, planned: int) -> tuple[Slots, Slots]:
        """First place of a work in each future that starts and ends no earlier than told; its crew is taken."""
        opened, good = self._open(work, int(start.min()))
        slots = self._same(planned) if work.one_go else self.draws.slots(work, planned)
        begins = self._goes(opened, good, planned) if work.one_go else good
        counts = Counts(opened, _sums(begins))
        after, ends = np.searchsorted(opened, start), np.searchsorted(opened, end)
        if work.one_go:
            least = np.clip(np.maximum(after, ends - planned + 1), 0, len(opened))
            first = self._nth(counts, counts.good[least, self.column] + 1)
            last = first + planned - 1
        else:
            target = np.maximum(
                counts.good[after, self.column] + slots, counts.good[ends, self.column] + 1
            )
            first, last = self._nth(counts, target - slots + 1), self._nth(counts, target)
        self._take(work, opened, good, (first, last))
        return self._slot(counts, first), self._slot(
            counts, np.where(first < len(opened), last, first)
        )

    def _open(self, work: Work, start: int) -> tuple[Slots, Marks]:
        """Open slots of a work from a slot on, and whether each is neither lost nor taken by future."""
        at = self.plan[work.id]
        bits = work_bits(self.world, work, at.crew)
        for machine, unit in at.machines:
            bits &= self.world.machines[machine].open[unit]
        if bits not in self._opened:
            self._opened[bits] = np.array(Calendar(bits, self.size).open, dtype=np.int64)
        opened = self._opened[bits]
        opened = opened[np.searchsorted(opened, start) :]
        good = np.ones((len(opened), self.draws.futures), bool)
        for crew in work.held_by(at.crew):
            if crew in self._busy:
                good &= ~self._busy[crew][opened]
        marks = self.draws.lost(work)
        if marks is not None:
            drawn = int(np.searchsorted(opened, self.first))
            good[drawn:] &= ~marks[opened[drawn:] - self.first]
        return opened, good

    def _take(self, work: Work, opened: Slots, good: Marks, places: tuple[Slots, Slots]) -> None:
        """Mark slots of those who do it as taken: the good ones from the first place to the last."""
        first, last = places
        low, high = int(first.min()), min(int(last.max()) + 1, len(opened))
        rows = np.arange(low, high)[:, None]
        taken = good[low:high] & (rows >= first) & (rows <= last)
        for crew in work.held_by(self.plan[work.id].crew):
            if crew not in self._busy:
                self._busy[crew] = np.zeros((self.size, self.draws.futures), bool)
            self._busy[crew][opened[low:high]] |= taken

    def _goes(self, opened: Slots, good: Marks, slots: int) -> Marks:
        """Places from which so many open slots in a row, of one day, are all good."""
        starts = np.zeros_like(good)
        count = len(opened) - slots + 1
        if count <= 0:
            return starts
        per_day = next(iter(self.world.axes.values())).per_day
        same = opened[:count] // per_day == opened[slots - 1 :] // per_day
        starts[:count] = same[:, None]
        for ahead in range(slots):
            starts[:count] &= good[ahead : ahead + count]
        return starts

    def _nth(self, counts: Counts, target: Slots) -> Slots:
        """Place of the open slot that is good number ``target`` (1 is the first); the count if none is."""
        low = np.zeros(self.draws.futures, np.int64)
        high = np.full(self.draws.futures, len(counts.open))
        for _ in range(max(1, len(counts.open)).bit_length()):
            middle = (low + high) // 2
            enough = counts.good[np.minimum(middle + 1, len(counts.open)), self.column] >= target
            high = np.where(enough & (low < high), middle, high)
            low = np.where(~enough & (low < high), middle + 1, low)
        return low

    def _slot(self, counts: Counts, place: Slots) -> Slots:
        """Slot of a place in the open ones; ``size`` if there is none."""
        padded = np.append(counts.open, [self.size])
        found: Slots = padded[np.minimum(place, len(counts.open))]
        return found


def _sums(good: Marks) -> NDArray[np.int16]:
    """How many are good before each place, and in all."""
    sums = np.zeros((len(good) + 1, good.shape[1]), np.int16)
    np.cumsum(good, axis=0, dtype=np.int16, out=sums[1:])
    return sums
