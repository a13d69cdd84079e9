"""What is taken in each slot of each future and by whom: crews, machines, zones, yards, ways in.

A crew has a yard besides, for each half day, and loses a slot to the drive to a far one, as in any plan: slots that
this keeps from a work are taken, too. Work that runs goes on wherever its crew is.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from jobs.scheduling.calendars import Calendar

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Job, Work, World

    from .order import Order, Share

    Slots = NDArray[np.int64]
    Marks = NDArray[np.bool_]

NOBODY = -1
"""Nobody to blame, no yard, no slot."""


class _Use(NamedTuple):
    """How much of something is taken in each slot of each future, and which work took of it last."""

    used: NDArray[np.uint8]
    by: NDArray[np.int16]


class _Whereabouts(NamedTuple):
    """Which yard has a crew in each half day of each future, and for which work."""

    yard: NDArray[np.int16]
    by: NDArray[np.int16]


class Taken:
    """What works took of what they share.

    Parameters
    ----------
    size
        Slots looked at.
    """

    def __init__(self, world: World, order: Order, size: int, futures: int) -> None:
        self.world, self.order = world, order
        self.size, self.futures = size, futures
        self.number = {work: n for n, work in enumerate(world.works)}
        jobs = {job: n for n, job in enumerate(world.jobs)}
        self._yard = np.array([jobs[work.job] for work in world.works.values()], np.int16)
        axis = world.axis
        self._half = _halves(axis)
        self._uses: dict[tuple[str, ...], _Use] = {}
        self._at: dict[tuple[str, ...], _Whereabouts] = {}
        self._beside: dict[str, tuple[Slots, Slots]] = {}

    # -- asked ---------------------------------------------------------------------------------

    def free(self, work: Work, opened: Slots) -> Marks:
        """Which of some slots a work may have in each future."""
        free = np.ones((len(opened), self.futures), bool)
        for share, use in self._shared(work):
            free &= use.used[opened] <= share.most - share.takes
            if share.moves and work.done is None:
                free &= ~self._elsewhere(work, share, opened)
                if self._far is not None:
                    free &= ~self._driving(work, share, opened)
        return free

    def blame(self, work: Work, slot: Slots, futures: Slots, by: Slots) -> None:
        """Write to ``by`` who has what a work wanted in a slot of some futures."""
        for share, use in self._shared(work):
            wanted = use.used[slot, futures] > share.most - share.takes
            by[futures[wanted]] = use.by[slot[wanted], futures[wanted]]
            if share.moves and not wanted.all():
                at, half = self._at[share.of], self._half[slot]
                yard = at.yard[half, futures]
                away = (yard != NOBODY) & (yard != self._own(work)) & ~wanted
                by[futures[away]] = at.by[half[away], futures[away]]

    def shares(self, work: Work) -> bool:
        """Return True if a work shares what others have taken of."""
        return bool(self._shared(work))

    def _shared(self, work: Work) -> list[tuple[Share, _Use]]:
        """What a work shares, as far as anybody has taken of it."""
        return [
            (share, self._uses[share.of])
            for share in self.order.shares[work.id]
            if share.of in self._uses
        ]

    def _own(self, work: Work) -> int:
        return int(self._yard[self.number[work.id]])

    # -- crews and yards -----------------------------------------------------------------------

    def _elsewhere(self, work: Work, share: Share, opened: Slots) -> Marks:
        """Slots of half days that a crew gives to another yard."""
        halves = self._half[opened]
        if not len(halves):
            return np.zeros((0, self.futures), bool)
        yards = self._at[share.of].yard[halves[0] : halves[-1] + 1]
        away = (yards != NOBODY) & (yards != self._own(work))
        found: Marks = away[halves - halves[0]]
        return found

    def _driving(self, work: Work, share: Share, opened: Slots) -> Marks:
        """Slots right before or after the crew's work at a far yard on the same day."""
        use, lost = self._uses[share.of], np.zeros((len(opened), self.futures), bool)
        far = self._far[self._own(work)] if self._far is not None else lost
        for beside in self._neighbours(share.of[1]):
            rows = (beside[opened] != NOBODY).nonzero()[0]
            at = beside[opened[rows]]
            lost[rows] |= (use.used[at] > 0) & far[self._yard[use.by[at]]]
        return lost

    @cached_property
    def _far(self) -> Marks | None:
        """Which yards are far from which, by their numbers; None if none is."""
        jobs = list(self.world.jobs.values())
        far = np.array([[not _near(one, other) for other in jobs] for one in jobs])
        return far if far.any() else None

    def _neighbours(self, crew: str) -> tuple[Slots, Slots]:
        """By slot, the crew's open slots before and after it on the same day; nobody's where none is."""
        if crew not in self._beside:
            axis = self.world.axis
            opened = np.array(Calendar(self.world.crews[crew].open, self.size).open, np.int64)
            slots = np.arange(self.size)
            found = []
            for place in (
                np.searchsorted(opened, slots) - 1,
                np.searchsorted(opened, slots, side="right"),
            ):
                inside = (place >= 0) & (place < len(opened))
                other = np.append(opened, [NOBODY])[np.where(inside, place, len(opened))]
                same = inside & (other // axis.per_day == slots // axis.per_day)
                found.append(np.where(same, other, NOBODY))
            self._beside[crew] = found[0], found[1]
        return self._beside[crew]

    # -- told ----------------------------------------------------------------------------------

    def take(self, work: Work, slots: Slots, futures: Slots) -> None:
        """Take what a work shares in pairs of a slot and a future."""
        for share in self.order.shares[work.id]:
            if share.of not in self._uses:
                shape = (self.size, self.futures)
                self._uses[share.of] = _Use(np.zeros(shape, np.uint8), np.zeros(shape, np.int16))
            use = self._uses[share.of]
            use.used[slots, futures] += np.uint8(share.takes)
            use.by[slots, futures] = self.number[work.id]
            if share.moves:
                if share.of not in self._at:
                    halves = int(self._half[-1]) + 1
                    self._at[share.of] = _Whereabouts(
                        *(np.full((halves, self.futures), NOBODY, np.int16) for _ in range(2))
                    )
                at, half = self._at[share.of], self._half[slots]
                at.yard[half, futures], at.by[half, futures] = self._own(work), self.number[work.id]


def _halves(axis: SlotAxis) -> Slots:
    """The number of the half day each slot lies in, from the first of the axis on."""
    halves = [position.half for position in axis.positions]
    place = {half: n for n, half in enumerate(dict.fromkeys(halves))}
    of_day = np.array([place[half] for half in halves])
    days = np.arange(axis.days)[:, None] * len(place)
    found: Slots = (days + of_day).reshape(-1)
    return found


def _near(one: Job, other: Job) -> bool:
    """Return True if a crew goes from one yard to the other without losing a slot."""
    return one.id == other.id or all(
        job.near is None or there.id in job.near for job, there in ((one, other), (other, one))
    )
