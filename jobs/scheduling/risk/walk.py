"""All futures of a plan walked at once: every work is placed in all of them before the next.

The trick is the search for the n-th open slot of all futures together: open slots that are neither lost nor
taken are counted, and the search is a binary one in those counts. Works come in the plan's turn and each takes
the first slots it can; so a crew, a machine or a zone that waits on one work gets on with the next, and
who goes ahead never holds up the one whose turn it was.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from jobs.scheduling.calendars import Calendar, work_bits

from .links import Ends, Links
from .taken import NOBODY, Taken

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import Work, World

    from .draws import Draws
    from .order import Order

    Slots = NDArray[np.int64]
    Marks = NDArray[np.bool_]

NEAR_DAYS, FAR = 20, 3
"""How far a work's slots are looked for at first: so many days, and slots for each slot it takes."""


class Room(NamedTuple):
    """Open slots of a work, and by future which of them are free of others and which are good: not lost either."""

    open: Slots
    free: Marks
    good: Marks


class Counts(NamedTuple):
    """Open slots, and how many of them are not lost before each, by future."""

    open: Slots
    good: NDArray[np.int16]


class Walk:
    """Places works in all futures, in order.

    Parameters
    ----------
    bounds
        First slot that weather is drawn for, and the slots looked at: what does not end within them ends
        at the second.
    floors
        Earliest start of a work by whatever the order does not tell.
    """

    def __init__(
        self,
        world: World,
        plan: Plan,
        order: Order,
        draws: Draws,
        bounds: tuple[int, int],
        floors: Mapping[str, int],
    ) -> None:
        self.world, self.plan, self.order, self.draws = world, plan, order, draws
        self.first, self.size = bounds
        self.floors = floors
        self.per_day = world.axis.per_day
        self.column = np.arange(draws.futures)
        self.placed: dict[str, Ends] = {}
        self._links = Links(world, plan, order, draws, self.placed, self.size)
        self._taken = Taken(world, order, self.size, draws.futures)
        self._opened: dict[int, Slots] = {}

    def run(self) -> Mapping[str, Ends]:
        """Place every work."""
        for name in self.order.works:
            self.put(name, self.floors.get(name, 0))
        return self.placed

    def soonest(self, name: str) -> Slots:
        """Return where a work could begin after all that were placed, without placing it."""
        return self._place(self.world.works[name], 0)[0].start

    def put(self, name: str, floor: int) -> None:
        """Place one work, not before a slot, and take what it shares with others."""
        work = self.world.works[name]
        self.placed[name], found = self._place(work, floor)
        if found is not None:
            self._take(work, *found)

    # -- one work --------------------------------------------------------------------------

    def _place(self, work: Work, floor: int) -> tuple[Ends, tuple[Room, Slots, Slots] | None]:
        """Where a work stands, and the places in its room from first to last; done work needs none."""
        at = self.plan[work.id]
        start, end, by = self._same(self.world.now), self._same(0), self._same(NOBODY)
        if work.done is not None and work.done.end is not None:
            return Ends(self._same(at.start), self._same(at.end), by), None
        if work.done is None:
            start, end, by = self._links.bound(work, floor)
        room, first, last = self._fit(work, start, end, work.crews.get(at.crew, work.slots))
        begun = self._same(at.start) if work.done else self._slot(room.open, first)
        ended = self._slot(room.open, np.where(first < len(room.open), last, first))
        blamed = by if work.done else self._blamed(work, room, (start, first), by)
        return Ends(begun, ended, blamed), (room, first, last)

    def _same(self, slot: int) -> Slots:
        return np.full(self.draws.futures, slot)

    # -- the search ------------------------------------------------------------------------

    def _fit(self, work: Work, start: Slots, end: Slots, planned: int) -> tuple[Room, Slots, Slots]:
        """First places of a work in its room, by future, that start and end no earlier than told.

        They are looked for nearby; far and wide only if some future finds none there.
        """
        crew = self.plan[work.id].crew
        slots = self._same(planned) if work.one_go else self.draws.slots(work, crew, planned)
        near = int(max(start.max(), end.max()) + NEAR_DAYS * self.per_day + FAR * slots.max())
        for until in (near, self.size):
            room = self._room(work, int(start.min()), until)
            first, last = self._search(work, room, (start, end), slots)
            if until >= self.size or int(last.max()) < len(room.open):
                break
        return room, first, last

    def _search(
        self, work: Work, room: Room, bounds: tuple[Slots, Slots], slots: Slots
    ) -> tuple[Slots, Slots]:
        """First and last place in a room; both beyond it where there is none."""
        opened, column = room.open, self.column
        after, ends = (np.searchsorted(opened, bound) for bound in bounds)
        if work.one_go:
            counts = Counts(opened, _sums(self._goes(opened, room.good, int(slots[0]))))
            least = np.clip(np.maximum(after, ends - slots + 1), 0, len(opened))
            first = self._nth(counts, counts.good[least, column] + 1)
            return first, first + slots - 1
        counts = Counts(opened, _sums(room.good))
        target = np.maximum(counts.good[after, column] + slots, counts.good[ends, column] + 1)
        return self._nth(counts, target - slots + 1), self._nth(counts, target)

    def _room(self, work: Work, start: int, until: int) -> Room:
        """Open slots of a work from a slot until another, and which of them it may have in which future."""
        at = self.plan[work.id]
        bits = work_bits(self.world, work, at.crew)
        for machine, unit in at.machines:
            bits &= self.world.machines[machine].open[unit]
        if bits not in self._opened:
            self._opened[bits] = np.array(Calendar(bits, self.size).open, dtype=np.int64)
        opened = self._opened[bits]
        opened = opened[np.searchsorted(opened, start) : np.searchsorted(opened, until)]
        free = self._taken.free(work, opened)
        marks = self.draws.lost(work)
        if marks is None:
            return Room(opened, free, free)
        good = free.copy()
        drawn = int(np.searchsorted(opened, self.first))
        good[drawn:] &= ~marks[opened[drawn:] - self.first]
        return Room(opened, free, good)

    def _take(self, work: Work, room: Room, first: Slots, last: Slots) -> None:
        """Take what a work shares in the good slots from its first place to its last."""
        if not self.order.shares[work.id]:
            return
        low, high = int(first.min()), min(int(last.max()) + 1, len(room.open))
        rows = np.arange(low, high, dtype=np.int32)[:, None]
        at_work = room.good[low:high] & (rows >= first) & (rows <= last)
        places, futures = at_work.nonzero()
        self._taken.take(work, room.open[low:high][places], futures)

    def _blamed(self, work: Work, room: Room, at: tuple[Slots, Slots], by: Slots) -> Slots:
        """Who is to blame for a start: the last to take what was wanted between its bound and its place."""
        start, first = at
        after = np.searchsorted(room.open, start)
        late = (first > after).nonzero()[0]
        if not self._taken.shares(work) or not late.size:
            return by
        low, high = int(after[late].min()), min(int(first[late].max()), len(room.open))
        rows = np.arange(low, high)[:, None]
        waited = ~room.free[low:high, late] & (rows >= after[late]) & (rows < first[late])
        held = waited.any(axis=0)
        late, back = late[held], waited[::-1, held].argmax(axis=0)
        by = by.copy()
        self._taken.blame(work, room.open[high - 1 - back], late, by)
        return by

    def _goes(self, opened: Slots, good: Marks, slots: int) -> Marks:
        """Places from which so many open slots in a row, of one day, are all good."""
        starts = np.zeros_like(good)
        count = len(opened) - slots + 1
        if count <= 0:
            return starts
        same = opened[:count] // self.per_day == opened[slots - 1 :] // self.per_day
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

    def _slot(self, opened: Slots, place: Slots) -> Slots:
        """Slot of a place in the open ones; ``size`` if there is none."""
        padded = np.append(opened, [self.size])
        found: Slots = padded[np.minimum(place, len(opened))]
        return found


def _sums(good: Marks) -> NDArray[np.int16]:
    """How many are good before each place, and in all."""
    sums = np.zeros((len(good) + 1, good.shape[1]), np.int16)
    np.cumsum(good, axis=0, dtype=np.int16, out=sums[1:])
    return sums
