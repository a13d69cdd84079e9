"""Put works back that were taken out of a plan: in an order, each where it is done first.

The order respects forerunners; who must follow soon comes right after. If a follower cannot make it in
time, the work before it is taken out again, with all that was put since, and comes later.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from .board import Board
    from .lots import Lots

STEP = 1e-4
"""How much later than its forerunner a work comes at least, in slots."""
MOST_PUT_OFF = 40
"""Times forerunners are made to come later before putting back is given up."""


def in_order(lots: Lots, keys: dict[int, float], pairs: Sequence[tuple[int, int]]) -> list[int]:
    """Return works by key, forerunners first.

    Parameters
    ----------
    keys
        Priority of each work, lower first; changed where a forerunner's is not lower.
    pairs
        Pairs of ``Lots.first`` among the works, in that order.
    """
    hasty = lots.hasty
    for i, j in pairs:
        if i in keys and j in keys and (keys[j] <= keys[i] or (i, j) in hasty):
            keys[j] = keys[i] + STEP
    return sorted(keys, key=keys.__getitem__)


def put_back(
    board: Board, order: Sequence[int], hopeless: Callable[[int, int], bool] | None = None
) -> bool:
    """Put works where they are done first, one after the other; False if one finds no place.

    What was put before a work failed stays: the caller goes back.

    Parameters
    ----------
    hopeless
        Told each work that is put and its last slot; says True if there is no use in going on.
    """
    least, bounds, find, place = board.least, board.bounds, board.find, board.place
    own: dict[int, tuple[int, int]] = {}
    at, left = 0, MOST_PUT_OFF
    while at < len(order):
        i = order[at]
        found = find(i, bounds(i, own.get(i, least[i]) if own else least[i]))
        if found is not None:
            place(i, *found)
            if hopeless is not None and hopeless(i, found[1]):
                return False
            at += 1
            continue
        left -= 1
        back = _put_off(board, i, own, order, at) if left else None
        if back is None:
            return False
        for j in order[back:at]:
            board.remove(j)
        at = back
    return True


def _put_off(
    board: Board, i: int, own: dict[int, tuple[int, int]], order: Sequence[int], at: int
) -> int | None:
    """Make a forerunner come later, so that a work can follow it in time; return its turn."""
    later = to_come_later(board, i, own.get(i, board.least[i]))
    turn = None if later is None else _turn(order, later.work, at)
    if later is not None and turn is not None:
        own[later.work] = later.over(own.get(later.work, board.least[later.work]))
    return turn


class Later(NamedTuple):
    """A work that must come later: its end if ``finish``, else its start, no sooner than ``bound``."""

    work: int
    bound: int
    finish: bool

    def over(self, least: tuple[int, int]) -> tuple[int, int]:
        """Return the least start and end that it gives a work, put over those it had."""
        return (least[0], self.bound) if self.finish else (self.bound, least[1])


def to_come_later(board: Board, i: int, least: tuple[int, int]) -> Later | None:
    """Return the forerunner that a work cannot follow in time, and by how much it must come later."""
    if not board.lots.late[i]:
        return None
    start, _, end, _ = board.bounds(i, least)
    found = board.find(i, (start, board.last_slot, end, board.last[i]))
    if found is None:
        return None
    for bind in board.lots.late[i]:
        j, event = bind.before, found[1] if bind.to_finish else found[0]
        stands = board.end[j] if bind.from_finish else board.start[j]
        if bind.latest is None or bind.earliest_event is None or event <= bind.latest[stands]:
            continue
        bound = bind.earliest_event[event]
        return Later(j, bound, bind.from_finish) if bound > stands else None
    return None


def _turn(order: Sequence[int], i: int, at: int) -> int | None:
    """Return when a work was put back; None if it never was taken out."""
    return next((turn for turn in range(at) if order[turn] == i), None)
