"""What stands in the way of a work, given what is taken, and the first place that is free.

All that forbids slots is gathered into one bitmap: a clash is one AND over the slots wanted, and its
highest bit says where to try next. The few rules that are not about slots (rests that end between two
slots, drives between far yards, ground that the work itself must find empty) are asked once a place
looks free.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.scheduling.calendars import Calendar

    from .demands import Choice, Demand, Way
    from .ledger import Ledger


class Bounds(NamedTuple):
    """Where a work may stand: its start and its end, each from the first to the second slot."""

    start: int
    start_by: int
    end: int
    end_by: int


class Ground(NamedTuple):
    """Slots without room, or in which ground rests, and rests that lie between two slots."""

    bits: int
    gaps: tuple[tuple[int, int], ...]


def ground_of(ledger: Ledger, i: int) -> Ground:
    """Gather what forbids slots to a work whoever does it: full zones and yards, ground at rest."""
    bits, gaps = 0, []
    demand = ledger.demands[i]
    for key, _ in demand.rooms:
        levels = ledger.held.get(key)
        if levels:
            bits |= levels[-1]
    if demand.work.treads:
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


def blocked(ledger: Ledger, i: int, choice: Choice, bits: int) -> int:
    """Add to some slots those that a crew and its machines forbid."""
    held, demand = ledger.held, ledger.demands[i]
    work, crew = demand.work, choice.option.crew
    opened = choice.calendar.bits
    for busy in work.held_by(crew):
        bits |= held.get(("crew", busy, work.shift), 0)
        own = held.get(("own", busy, work.job), 0)
        other = held.get(("all", busy), 0) & ~own | held.get(("twice", busy), 0)
        bits |= other & opened
    for name, unit in choice.units:
        bits |= held.get(("unit", name, unit), 0)
    for way in demand.ways:
        bits |= opened & jammed(ledger, way)
    return bits


def jammed(ledger: Ledger, way: Way) -> int:
    """Bitmap of slots in which a passage cannot take a share more."""
    if way.share > way.most:
        return -1
    return sum(mask for load, mask in ledger.held.get(way.key, ()) if load + way.share > way.most)


def first_free(
    ledger: Ledger, i: int, choice: Choice, bounds: Bounds, ground: Ground
) -> tuple[int, int] | None:
    """Return first and last slot of the soonest free place within bounds, or None."""
    calendar, further = choice.calendar, choice.option.slots - 1
    start, start_by, end, end_by = bounds
    if start >= calendar.size or end >= calendar.size:
        return None
    opened, rank = calendar.open, calendar.rank
    place, places = max(rank[start], rank[end] - further), len(opened) - further
    if place >= places or opened[place + further] > end_by:
        return None
    taken, day = blocked(ledger, i, choice, ground.bits), ledger.demands[i].day
    rare = ground.gaps or ledger.far or ledger.demands[i].keepouts
    room = 0
    while place < places:
        first, last = opened[place], opened[place + further]
        if first > start_by or last > end_by:
            return None
        if day and first // day != last // day:
            place += 1
            continue
        clash = taken >> first & ((2 << (last - first)) - 1)
        if clash:
            room = room or in_a_row(~taken & ((2 << end_by) - 1), further + 1)
            place = _next_place(calendar, room, first + clash.bit_length())
            continue
        onward = hindrance(ledger, i, choice, ground, place) if rare else place
        if onward == place:
            return first, last
        place = onward
    return None


def in_a_row(bits: int, count: int) -> int:
    """Return the bits from which on so many are set, one after the other."""
    have = 1
    while 2 * have <= count:
        bits &= bits >> have
        have *= 2
    return bits & bits >> (count - have)


def _next_place(calendar: Calendar, room: int, slot: int) -> int:
    """Place of the first open slot from a slot on that has room; past all places if none has."""
    rest = (room & calendar.bits) >> slot
    return calendar.rank[slot + (rest & -rest).bit_length() - 1] if rest else len(calendar.open)


def hindrance(ledger: Ledger, i: int, choice: Choice, ground: Ground, place: int) -> int:
    """Ask the rules that are not about slots: the same place if it is free, else the next to try."""
    calendar, slots = choice.calendar, choice.option.slots
    start, end = calendar.open[place], calendar.open[place + slots - 1]
    for before, after in ground.gaps:
        if start <= before and end >= after:
            return calendar.rank[after]
    if ledger.far:
        held = ledger.demands[i].work.held_by(choice.option.crew)
        if any(_too_far(ledger, i, choice, crew, place) for crew in held):
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


def _too_far(ledger: Ledger, i: int, choice: Choice, crew: str, place: int) -> bool:
    """Return True if a crew would have no time for a drive to or from another yard."""
    per_day = ledger.ready.per_day
    tours = ledger.held.get(("tour", crew), ())
    job = ledger.demands[i].work.job
    slots = choice.calendar.open[place : place + choice.option.slots]
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
