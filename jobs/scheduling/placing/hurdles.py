"""The few rules that are not about slots alone, asked of a ledger once a place looks free.

Rests that end between two slots, drives between far yards, ground that the work itself must find empty; and
the bitmaps of what ground and ways in forbid.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .demands import Demand, WayIn
    from .ledger import Ledger
    from .ways import Way


class Ground(NamedTuple):
    """Slots in which ground rests, and rests that lie between two slots."""

    bits: int
    gaps: tuple[tuple[int, int], ...]


def ground_of(ledger: Ledger, i: int) -> Ground:
    """Gather the rests of the ground that a work treads."""
    bits, gaps = 0, []
    for first, last in _rests(ledger, i):
        if first <= last:
            bits |= ((1 << (last + 1 - first)) - 1) << first
        else:
            gaps.append((last, first))
    return Ground(bits, tuple(gaps))


def _rests(ledger: Ledger, i: int) -> list[tuple[int, int]]:
    """First and last slot kept free of a work, per rest; last before first for a mere gap."""
    work = ledger.demands[i].work
    axis = ledger.ready.axis(work)
    found = []
    for place, tread in work.treads.items():
        for rest in ledger.held.get(("rest", place), ()):
            keepout = rest.keepout
            if tread >= keepout.keeps_out and rest.owner != i and work.id not in keepout.exempt:
                first = bisect_right(axis.end, rest.free)
                found.append((first, bisect_left(axis.begin, rest.until) - 1))
    return found


def jammed(ledger: Ledger, way: WayIn) -> int:
    """Bitmap of slots in which a passage cannot take a share more."""
    if way.share > way.most:
        return -1
    return sum(mask for load, mask in ledger.held.get(way.key, ()) if load + way.share > way.most)


def hindrance(ledger: Ledger, i: int, way: Way, ground: Ground, place: int) -> int:
    """Ask the rules that are not about slots: the same place if it is free, else the next to try."""
    calendar, slots = way.calendar, way.option.slots
    start, end = calendar.open[place], calendar.open[place + slots - 1]
    for before, after in ground.gaps:
        if start <= before and end >= after:
            return calendar.rank[after]
    if ledger.far:
        held = ledger.demands[i].work.held_by(way.option.crew)
        if any(_too_far(ledger, i, way, crew, place) for crew in held):
            return place + 1
    if ledger.demands[i].keepouts:
        least = _emptied(ledger, ledger.demands[i], i, end)
        if least > end:
            return max(place + 1, calendar.rank[min(least, calendar.size)] - slots + 1)
    return place


def _emptied(ledger: Ledger, demand: Demand, i: int, end: int) -> int:
    """Last slot to end in for nobody to be on the ground that rests then; ``end`` if it is right."""
    axis = ledger.ready.axis(demand.work)
    free = axis.end[end]
    for keepout in demand.keepouts:
        for tread in ledger.held.get(("tread", keepout.place), ()):
            other = ledger.demands[tread.work].work
            if (
                other.treads[keepout.place] >= keepout.keeps_out
                and tread.work != i
                and other.id not in keepout.exempt
                and tread.begin < free + keepout.minutes
                and tread.end > free
            ):
                return bisect_left(axis.end, tread.end)
    return end


def _too_far(ledger: Ledger, i: int, way: Way, crew: str, place: int) -> bool:
    """Return True if a crew would have no time for a drive to or from another yard."""
    per_day = ledger.ready.per_day
    tours = ledger.held.get(("tour", crew), ())
    job = ledger.demands[i].work.job
    slots = way.calendar.open[place : place + way.option.slots]
    first, last = slots[0] - slots[0] % per_day, slots[-1] - slots[-1] % per_day + per_day
    window = ((1 << (last - first)) - 1) << first
    near_by = [(worked & window, other) for worked, other in tours if worked & window]
    if not any(distant(ledger, job, other) for _, other in near_by):
        return False
    tour = [(slot, job, True) for slot in slots]
    tour += [(slot, other, False) for worked, other in near_by for slot in _slots(worked)]
    people = ledger.ready.world.crews[crew].open
    return any(
        (mine or hers)
        and one != two
        and a // per_day == b // per_day
        and distant(ledger, one, two)
        and not people >> (a + 1) & ((1 << max(b - a - 1, 0)) - 1)
        for (a, one, mine), (b, two, hers) in pairwise(sorted(tour))
    )


def _slots(bits: int) -> Sequence[int]:
    found = []
    while bits:
        low = bits & -bits
        found.append(low.bit_length() - 1)
        bits ^= low
    return found


def distant(ledger: Ledger, one: str, two: str) -> bool:
    """Return True if a crew loses a slot on its way between two yards."""
    a, b = ledger.ready.world.jobs[one].near, ledger.ready.world.jobs[two].near
    return one != two and not ((a is None or two in a) and (b is None or one in b))
