"""From when on links let a work begin and end, in all futures at once, and who holds it up."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from jobs.scheduling.calendars import Calendar, work_bits
from jobs.scheduling.waits import Wait
from jobs.trade.work import Clock, Relation

from .taken import NOBODY

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import Work, World
    from jobs.trade.work import Lag

    from .draws import Draws
    from .order import Follow, Order

    Slots = NDArray[np.int64]


class Ends(NamedTuple):
    """Where a work stands in each future, and which work it waited for last."""

    start: Slots
    end: Slots
    held_by: Slots


class Bound(NamedTuple):
    """Earliest first and last slot of a work in each future, and which work is to blame for it."""

    start: Slots
    end: Slots
    by: Slots


class Links:
    """Reads links off the works that were placed.

    Parameters
    ----------
    placed
        Works placed so far; grows while it is asked.
    size
        Slots looked at: what cannot be within them is at ``size``.
    """

    def __init__(
        self,
        world: World,
        plan: Plan,
        order: Order,
        draws: Draws,
        placed: Mapping[str, Ends],
        size: int,
    ) -> None:
        self.world, self.plan, self.order, self.draws = world, plan, order, draws
        self.placed, self.size = placed, size
        self.per_day = world.axis.per_day
        self.number = {work: n for n, work in enumerate(world.works)}
        self._waits: dict[tuple[object, ...], Wait] = {}
        self._begin = {zone: np.array(axis.begin) for zone, axis in world.axes.items()}
        self._end = {zone: np.array(axis.end) for zone, axis in world.axes.items()}

    def bound(self, work: Work, floor: int) -> Bound:
        """Return from when on a work may stand, not before a floor."""
        given = (self.world.now, self.world.jobs[work.job].release, work.pin.not_before or 0, floor)
        start, end = self._same(max(given)), self._same(0)
        by = self._same(NOBODY)
        for follow in self.order.waits[work.id]:
            if follow.before not in self.placed:
                continue
            bound = self._ready(follow, work)
            best = end if follow.relation.to_finish else start
            by = np.where(bound > np.maximum(start, end), self.number[follow.before], by)
            np.maximum(best, bound, out=best)
        return Bound(start, end, by)

    def _same(self, slot: int) -> Slots:
        return np.full(self.draws.futures, slot)

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
            ready = minutes + self._usual(lag, event) if ready is None else ready
            side = self._end if relation.to_finish else self._begin
            found = np.searchsorted(side[self._zone(work)], ready)
        return np.where(over, self.size, np.minimum(found, self.size))

    def _usual(self, lag: Lag, event: Slots) -> Slots:
        """Minutes of a wait as planned, after an event at a slot: longer where the season is cold."""
        if lag.clock is not Clock.ELAPSED or not lag.slower:
            return self._same(lag.amount)
        days = event // self.per_day
        longer: Slots = np.array(lag.slower)[np.clip(days, 0, len(lag.slower) - 1)]
        return lag.amount + longer

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
