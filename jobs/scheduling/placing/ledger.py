"""Who holds what and when while a plan is being built, with a way back.

Everything is a whole number used as a bitmap, or a tuple of them, in one table, and what a placement
changes is noted down so that it can be taken out again. Nothing is judged here: see ``hurdles``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from .demands import demands_of
from .halves import half_days, spreader

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.scheduling.calendars import Calendar
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Keepout

    from .demands import Demand

Key = tuple[Any, ...]


class Rest(NamedTuple):
    """Ground kept free from one instant to another after a work."""

    owner: int
    free: int
    until: int
    keepout: Keepout


class Tread(NamedTuple):
    """A work that stands on some ground from one instant to another."""

    work: int
    begin: int
    end: int


class Ledger:
    """What is taken so far; works that have begun are in it from the first."""

    def __init__(self, ready: Ready) -> None:
        self.ready = ready
        self.demands = demands_of(ready)
        self.placed: dict[int, Placement] = {}
        self.held: dict[Key, Any] = {}
        self._log: list[tuple[Key, Any]] = []
        self._stack: list[tuple[int, int]] = []
        jobs = ready.world.jobs
        self.far = any(job.near is not None for job in jobs.values())
        axis = next(iter(ready.world.axes.values()))
        self._spread = spreader(half_days(axis), axis.size)
        for i, at in ready.fixed.items():
            self.place(i, at, ready.held(i, at))

    def place(self, i: int, at: Placement, calendar: Calendar) -> None:
        """Put a work in its place; nothing is checked."""
        self._stack.append((i, len(self._log)))
        self.placed[i] = at
        demand, first = self.demands[i], max(at.start, 0)
        span = ((1 << max(at.end + 1 - first, 0)) - 1) << first
        worked = span & calendar.bits
        for crew in demand.work.held_by(at.crew):
            self._take_crew(demand, crew, span, worked)
        for name, unit in at.machines:
            self._or(("unit", name, unit), span)
        for key, room in demand.rooms:
            self._set(key, _stack(self.held.get(key) or (0,) * room, span))
        for way in demand.ways:
            self._set(way.key, _load(self.held.get(way.key, ()), worked, way.share))
        self._take_ground(i, at)

    def take_out(self, i: int) -> list[int]:
        """Undo the placing of a work and of everything placed after it; return these works."""
        out: list[int] = []
        while i not in out:
            work, mark = self._stack.pop()
            out.append(work)
            del self.placed[work]
            while len(self._log) > mark:
                key, old = self._log.pop()
                if old is None:
                    del self.held[key]
                else:
                    self.held[key] = old
        return out

    def _set(self, key: Key, value: object) -> None:
        self._log.append((key, self.held.get(key)))
        self.held[key] = value

    def _or(self, key: Key, bits: int) -> None:
        old = self.held.get(key)
        self._log.append((key, old))
        self.held[key] = bits if old is None else old | bits

    def _take_crew(self, demand: Demand, crew: str, span: int, worked: int) -> None:
        work = demand.work
        self._or(("crew", crew, work.shift), span)
        halves = self._spread(worked)
        other = self.held.get(("all", crew), 0) & ~self.held.get(("own", crew, work.job), 0)
        self._or(("twice", crew), halves & other)
        self._or(("all", crew), halves)
        self._or(("own", crew, work.job), halves)
        if self.far:
            self._set(("tour", crew), (*self.held.get(("tour", crew), ()), (worked, work.job)))

    def _take_ground(self, i: int, at: Placement) -> None:
        demand = self.demands[i]
        work = demand.work
        if not (work.treads or work.keepouts):
            return
        axis = self.ready.axis(work)
        begin, end = minute(axis, axis.begin, at.start), minute(axis, axis.end, at.end)
        for place in work.treads:
            key = ("tread", place)
            self._set(key, (*self.held.get(key, ()), Tread(i, begin, end)))
        for keepout in work.keepouts:
            key = ("rest", keepout.place)
            rest = Rest(i, end, end + keepout.minutes, keepout)
            self._set(key, (*self.held.get(key, ()), rest))


def minute(axis: SlotAxis, edge: tuple[int, ...], slot: int) -> int:
    """Instant of a slot's edge; before the axis the clock runs as on its first day."""
    if slot >= 0:
        return edge[slot]
    days, position = divmod(slot, axis.per_day)
    return edge[position] + days * 24 * 60


def _stack(levels: tuple[int, ...], span: int) -> tuple[int, ...]:
    """One more crew in a room: bit t of level k is set when more than k are in it."""
    found = []
    for level in levels:
        found.append(level | span)
        span &= level
    return tuple(found)


def _load(loads: Sequence[tuple[int, int]], worked: int, share: int) -> tuple[tuple[int, int], ...]:
    """Add a share to the loads of a passage: pairs of a load and the slots that carry it."""
    found: dict[int, int] = {}
    rest = worked
    for load, mask in loads:
        rest &= ~mask
        for amount, part in ((load, mask & ~worked), (load + share, mask & worked)):
            if part:
                found[amount] = found.get(amount, 0) | part
    if rest:
        found[share] = found.get(share, 0) | rest
    return tuple(found.items())
