"""What few works concern: ground trodden and at rest, ways in, and the rounds of crews between far yards.

Kept beside the bitmaps of a board, in one table of tuples, so that a copy of the table is a way back.
Nothing is judged here: see ``hurdles``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from .demands import demands_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.scheduling.ready import Ready
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Keepout

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
    """What is noted so far; works that have begun are in it from the first."""

    def __init__(self, ready: Ready) -> None:
        self.ready = ready
        self.demands = demands_of(ready)
        self.held: dict[Key, Any] = {}
        self.far = any(job.near is not None for job in ready.world.jobs.values())
        for i, at in ready.fixed.items():
            first = max(at.start, 0)
            span = ((1 << max(at.end + 1 - first, 0)) - 1) << first
            self.put(i, (at.start, at.end), span & ready.held(i, at).bits, at.crew)

    def put(self, i: int, span: tuple[int, int], worked: int, crew: str) -> None:
        """Note where a work treads and rests ground, what it hauls, and its crew's round of yards."""
        demand, held = self.demands[i], self.held
        for way in demand.ways:
            held[way.key] = _carry(held.get(way.key, ()), worked, way.share)
        if demand.work.treads or demand.keepouts:
            axis = self.ready.axis(demand.work)
            begin, end = minute(axis, axis.begin, span[0]), minute(axis, axis.end, span[1])
            for place in demand.work.treads:
                key = ("tread", place)
                held[key] = (*held.get(key, ()), Tread(i, begin, end))
            for keepout in demand.keepouts:
                key = ("rest", keepout.place)
                held[key] = (*held.get(key, ()), Rest(i, end, end + keepout.minutes, keepout))
        for busy in demand.work.held_by(crew) if self.far else ():
            held["tour", busy] = (*held.get(("tour", busy), ()), (worked, demand.work.job))

    def take(self, i: int, worked: int, crew: str) -> None:
        """Take out what ``put`` noted."""
        demand, held = self.demands[i], self.held
        for way in demand.ways:
            held[way.key] = _carry(held[way.key], worked, -way.share)
        for place in demand.work.treads:
            key = ("tread", place)
            held[key] = tuple(tread for tread in held[key] if tread.work != i)
        for keepout in demand.keepouts:
            key = ("rest", keepout.place)
            held[key] = tuple(rest for rest in held[key] if rest.owner != i)
        round_trip = (worked, demand.work.job)
        for busy in demand.work.held_by(crew) if self.far else ():
            held["tour", busy] = tuple(visit for visit in held["tour", busy] if visit != round_trip)


def minute(axis: SlotAxis, edge: tuple[int, ...], slot: int) -> int:
    """Instant of a slot's edge; before the axis the clock runs as on its first day."""
    if slot >= 0:
        return edge[slot]
    days, position = divmod(slot, axis.per_day)
    return edge[position] + days * 24 * 60


def _carry(
    loads: Sequence[tuple[int, int]], worked: int, share: int
) -> tuple[tuple[int, int], ...]:
    """Change the loads of a passage: pairs of a load and the slots that carry it."""
    found: dict[int, int] = {}
    rest = worked
    for load, mask in loads:
        rest &= ~mask
        for amount, part in ((load, mask & ~worked), (load + share, mask & worked)):
            if part and amount > 0:
                found[amount] = found.get(amount, 0) | part
    if rest:
        found[share] = found.get(share, 0) | rest
    return tuple(found.items())
