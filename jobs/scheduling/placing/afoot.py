"""The rare demands of a work while it is moved about: ground, ways in, half days and drives.

They are kept in a ``Ledger`` and asked of its rules; here works are put in and taken out in any order.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .hurdles import hindrance
from .ledger import Rest, Tread, minute

if TYPE_CHECKING:
    from .hurdles import Ground
    from .ledger import Ledger
    from .lots import Way

Bounds = tuple[int, int, int, int]


def first_place(
    ledger: Ledger, i: int, way: Way, bounds: Bounds, taken: int, ground: Ground
) -> tuple[int, int] | None:
    """Return the soonest place for a work within bounds (start from, to; end from, to), or None.

    Parameters
    ----------
    taken
        Slots that are forbidden.
    ground
        Rests that lie between two slots.
    """
    start, start_by, end, end_by = bounds
    calendar, slots, day = way.choice.calendar, way.slots - 1, ledger.demands[i].day
    if start >= calendar.size or end >= calendar.size:
        return None
    opened, rank = way.opened, way.rank
    place = max(rank[max(start, 0)], rank[max(end, 0)] - slots)
    while True:
        first, last = opened[place], opened[place + slots]
        if last > end_by or first > start_by or last >= calendar.size:
            return None
        if day and first // day != last // day:
            place += 1
            continue
        clash = (taken >> first) & ((2 << (last - first)) - 1)
        if clash:
            place = rank[first + clash.bit_length()]
            continue
        onward = hindrance(ledger, i, way.choice, ground, place)
        if onward == place:
            return first, last
        place = onward


def put_on_ground(ledger: Ledger, i: int, span: tuple[int, int], worked: int, crew: str) -> None:
    """Note where a work treads and rests ground, what it hauls, and its crew's round of yards."""
    demand, held = ledger.demands[i], ledger.held
    axis = ledger.ready.axis(demand.work)
    for way in demand.ways:
        held[way.key] = _carry(held.get(way.key, ()), worked, way.share)
    begin, end = minute(axis, axis.begin, span[0]), minute(axis, axis.end, span[1])
    for place in demand.work.treads:
        key = ("tread", place)
        held[key] = (*held.get(key, ()), Tread(i, begin, end))
    for keepout in demand.keepouts:
        key = ("rest", keepout.place)
        held[key] = (*held.get(key, ()), Rest(i, end, end + keepout.minutes, keepout))
    for busy in demand.work.held_by(crew) if ledger.far else ():
        held["tour", busy] = (*held.get(("tour", busy), ()), (worked, demand.work.job))


def take_off_ground(ledger: Ledger, i: int, worked: int, crew: str) -> None:
    """Take out what ``put_on_ground`` noted."""
    demand, held = ledger.demands[i], ledger.held
    for way in demand.ways:
        held[way.key] = _carry(held[way.key], worked, -way.share)
    for place in demand.work.treads:
        key = ("tread", place)
        held[key] = tuple(tread for tread in held[key] if tread.work != i)
    for keepout in demand.keepouts:
        key = ("rest", keepout.place)
        held[key] = tuple(rest for rest in held[key] if rest.owner != i)
    round_trip = (worked, demand.work.job)
    for busy in demand.work.held_by(crew) if ledger.far else ():
        held["tour", busy] = tuple(visit for visit in held["tour", busy] if visit != round_trip)


def _carry(
    loads: tuple[tuple[int, int], ...], worked: int, share: int
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
