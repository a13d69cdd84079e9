"""What holds a job's finish up: works on its longest chain that wait for a crew or machine, and for whom."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from jobs.scheduling.placing.board import Board
    from jobs.scheduling.placing.ways import Way


class HoldUp(NamedTuple):
    """A work that could start in a slot if nobody were in its way, and starts later."""

    work: int
    could: int


def hold_ups(board: Board, last: int) -> Iterator[HoldUp]:
    """Go back from a work along whatever binds it, and yield what somebody is in the way of."""
    i: int | None = last
    while i is not None and (way := board.by[i]) is not None:
        start, _, end, _ = board.bounds(i, board.least[i])
        place = max(way.rank[start], way.rank[end] - way.slots + 1 if end else 0)
        if way.opened[place] < board.start[i]:
            yield HoldUp(i, way.opened[place])
        i = _binding(board, i, start)


def _binding(board: Board, i: int, start: int) -> int | None:
    """Forerunner whose link lets a work start no sooner than a slot; None if none does."""
    found, latest = None, start - 1
    for before, from_finish, to_finish, earliest in board.lots.into[i]:
        bound = earliest[board.end[before] if from_finish else board.start[before]]
        if to_finish:
            bound -= board.end[i] - board.start[i]
        if bound > latest:
            found, latest = before, bound
    return found


def in_the_way(board: Board, held: HoldUp, way: Way, others: Iterable[int]) -> list[int]:
    """Works among others that take up what a work needs between when it could start and when it does.

    Parameters
    ----------
    way
        Crew and units that the work is to have.
    others
        Works that could use its crew or its machines.
    """
    start, end, by, keys = board.start, board.end, board.by, frozenset(way.keys)
    now, could = start[held.work], held.could
    machines = board.ready.works[held.work].machines
    return [
        j
        for j in others
        if start[j] < now
        and end[j] >= could
        and j != held.work
        and (other := by[j]) is not None
        and (_shared(machines, board.ready.works[j].machines) or not keys.isdisjoint(other.keys))
    ]


def in_line(
    board: Board, held: HoldUp, until: int, what: tuple[str, str], others: Iterable[int]
) -> list[int]:
    """Works among others that stand on a crew or machine between when a held up work could start and a slot.

    Parameters
    ----------
    until
        Last slot in which they may start.
    what
        "crew" or "machine", and its name.
    others
        Works that could use it.
    """
    start, end, by, could = board.start, board.end, board.by, held.could
    kind, name = what
    return [
        j
        for j in others
        if start[j] <= until
        and end[j] >= could
        and j != held.work
        and (way := by[j]) is not None
        and (kind == "machine" or way.option.crew == name)
    ]


def _shared(one: Collection[str], two: Collection[str]) -> bool:
    return any(name in two for name in one)
