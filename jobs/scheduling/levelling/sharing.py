"""What works of a part share: crews, machines, room, ways in, half days. One constraint, one function."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

from jobs.scheduling.placing.hurdles import distant

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from jobs.scheduling.placing.spots import Spot

    from .stands import Stands

Held = list[tuple[int, Any, "Spot"]]
"""Works that a crew may do in a yard, each with its literal and spot."""


def one_thing_at_a_time(at: Stands) -> None:
    """A crew does one thing at a time, and so does a machine that is like no other."""
    held: dict[int, list[Any]] = defaultdict(list)
    for i, chosen in at.chosen.items():
        for literal, spot in chosen:
            interval = at.if_there(i, literal, spot.length)
            for key in spot.way.keys:
                held[key].append(interval)
    for intervals in held.values():
        if len(intervals) > 1:
            at.model.add_no_overlap(intervals)


def no_more_than_there_are(at: Stands) -> None:
    """No more machines of a kind, crews in a zone, crews in a yard than there are or fit."""
    drawn: dict[int, list[tuple[int, int]]] = defaultdict(list)
    counts: dict[int, int] = {}
    lots = at.board.lots
    for i in at.start:
        pools = [(first, 1, 1) for first in lots.single[i]]
        for first, count, units in (*pools, *lots.stacks[i]):
            drawn[first].append((i, units))
            counts[first] = count
    for first, works in drawn.items():
        if sum(units for _, units in works) > 1:
            _pool(at, first, counts[first], works)


def _pool(at: Stands, first: int, count: int, works: Sequence[tuple[int, int]]) -> None:
    """What is free draws on a pool besides what stands."""
    intervals = [at.span(i) for i, _ in works]
    demands = [units for _, units in works]
    if count == 1:
        at.model.add_no_overlap(intervals)
        return
    for key in range(first, first + count):
        for start, length in _runs(at.board.held[key]):
            intervals.append(at.model.new_fixed_size_interval_var(start, length, ""))
            demands.append(1)
    at.model.add_cumulative(intervals, demands, count)


def room_in_the_ways(at: Stands) -> None:
    """What is hauled through a way in within one slot fits into that slot."""
    hauled: dict[str, list[tuple[Any, int]]] = defaultdict(list)
    for i, chosen in at.chosen.items():
        for way in at.board.ledger.demands[i].ways:
            for literal, spot in chosen:
                for offset, length in spot.runs:
                    interval = at.if_there(i, literal, length, offset)
                    hauled[way.key[1]].append((interval, way.share))
    for name, carried in hauled.items():
        for load, mask in at.board.ledger.held.get(("way", name), ()):
            for start, length in _runs(mask):
                carried.append((at.model.new_fixed_size_interval_var(start, length, ""), load))
        most = at.ready.world.places[name].share
        at.model.add_cumulative([it for it, _ in carried], [n for _, n in carried], most)


def half_days(at: Stands) -> None:
    """A crew changes yards only between halves of a day, and loses a slot to a far one."""
    by: dict[tuple[str, str], Held] = defaultdict(list)
    for i, chosen in at.chosen.items():
        for literal, spot in chosen:
            if spot.way.halves:
                work = at.ready.works[i]
                for crew in work.held_by(spot.way.option.crew):
                    by[crew, work.job].append((i, literal, spot))
    for (crew, job), mine in by.items():
        for far in (False, True):
            there = [
                it
                for (who, name), found in by.items()
                if who == crew and name != job and distant(at.board.ledger, job, name) is far
                for it in found
            ]
            _keep_apart(at, mine, there, int(far))


def _keep_apart(at: Stands, mine: Held, others: Held, far: int) -> None:
    """Nothing of another yard begins in the rest of a half day."""
    rests = [
        at.if_there(i, literal, spot.rest[far], spot.length)
        for i, literal, spot in mine
        if spot.rest[far]
    ]
    if not rests or not others:
        return
    works = [at.if_there(i, literal, spot.length) for i, literal, spot in others]
    demands = [1] * len(rests) + [len(rests)] * len(works)
    at.model.add_cumulative([*rests, *works], demands, len(rests))


def _runs(bits: int) -> Iterator[tuple[int, int]]:
    """Runs of set bits as first and length."""
    while bits:
        first = (bits & -bits).bit_length() - 1
        rest = ~(bits >> first)
        length = (rest & -rest).bit_length() - 1
        yield first, length
        bits &= ~(((1 << length) - 1) << first)
