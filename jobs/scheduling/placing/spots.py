"""Where each work of a part may still start, given all that stays fixed: what a solver chooses from.

Starts of one work that are alike for the solver (same crew and units, same slots held, same room left
to the end of the half day) are one ``Spot``.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from .hurdles import hindrance

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .board import Board, Bounds
    from .hurdles import Ground
    from .ways import Way


Alike = tuple[int, int, tuple[int, int], tuple[tuple[int, int], ...]]
"""Number of the way, slots held, rests, runs."""


class Spot(NamedTuple):
    """Starts that are alike.

    Attributes
    ----------
    length
        Slots held, first to last.
    rest
        Slots after the end that the crew cannot give to another yard (end of the half day), and
        to a far one (the drive).
    runs
        Worked slots as (offset from the start, length), for hauling works; else empty.
    starts
        Rising.
    """

    way: Way
    length: int
    rest: tuple[int, int]
    runs: tuple[tuple[int, int], ...]
    starts: list[int]


def spots_of(board: Board, i: int, window: Bounds) -> list[Spot]:
    """Return where a work may start, its crew and machines being free then.

    Parameters
    ----------
    board
        The plan with the part taken out.
    window
        First and last start, first and last end.
    """
    found: dict[Alike, list[int]] = defaultdict(list)
    hurdles = board.hurdles(i)
    hauls = bool(board.ledger.demands[i].ways)
    for n, way in enumerate(board.lots.ways[i]):
        taken = board.taken(way, hurdles)
        for start, end in _places(board, i, way, window, taken, hurdles.ground):
            rest = _rest(board, i, way, end) if way.halves else (0, 0)
            runs = _runs(way, start, end) if hauls else ()
            found[n, end + 1 - start, rest, runs].append(start)
    ways = board.lots.ways[i]
    return [Spot(ways[n], a, b, c, starts) for (n, a, b, c), starts in found.items()]


def _places(
    board: Board, i: int, way: Way, window: Bounds, taken: int, ground: Ground
) -> Iterator[tuple[int, int]]:
    """Every free place of a work in a window."""
    opened, slots, day = way.opened, way.slots - 1, way.day
    rare = board.lots.ground[i]
    for place in range(way.rank[max(window[0], 0)], len(way.calendar.open) - slots):
        start, end = opened[place], opened[place + slots]
        if end > window[3] or start > window[1]:
            return
        if end < window[2]:
            continue
        if day and start // day != end // day:
            continue
        if (taken >> start) & board.masks[end - start]:
            continue
        if not rare or hindrance(board.ledger, i, way, ground, place) == place:
            yield start, end


def _rest(board: Board, i: int, way: Way, end: int) -> tuple[int, int]:
    """Slots after an end that belong to its half day, and those that a drive takes as well."""
    day, position = divmod(end, board.ready.per_day)
    positions = board.lots.axis.positions
    last = position
    while last + 1 < len(positions) and positions[last + 1].half == positions[position].half:
        last += 1
    people = -1
    for crew in board.ledger.demands[i].work.held_by(way.option.crew):
        people &= board.ready.world.crews[crew].open
    later = range(position + 1, len(positions))
    drive = next((n for n in later if people >> (day * len(positions) + n) & 1), len(positions) - 1)
    return last - position, max(last, drive) - position


def _runs(way: Way, start: int, end: int) -> tuple[tuple[int, int], ...]:
    """Worked slots between two slots as runs."""
    runs: list[list[int]] = []
    for slot in range(start, end + 1):
        if way.bits >> slot & 1:
            if runs and start + sum(runs[-1]) == slot:
                runs[-1][1] += 1
            else:
                runs.append([slot - start, 1])
    return tuple((offset, length) for offset, length in runs)
