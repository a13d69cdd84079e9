"""The slow way for tiny worlds: try every place of every work before saying that there is no plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .board import Board, Found

MOST_WORKS = 8
"""Works still to be placed up to which a world is tried through and through."""
MOST_PLACES = 40_000
"""Places tried before it is given up as taking too long."""


class _Spent(Exception):
    """So many places were tried that it takes too long."""


class _Search:
    def __init__(self, board: Board) -> None:
        self.board = board
        board.clear()
        self.order = [i for i in board.ready.order if i not in board.ready.fixed]
        self.left = MOST_PLACES

    def place(self, depth: int) -> bool:
        """Place all works from one on; False if that cannot be done."""
        if depth == len(self.order):
            return True
        i = self.order[depth]
        for found in self._places(i):
            self.left -= 1
            if not self.left:
                raise _Spent
            self.board.place(i, *found)
            if self.place(depth + 1):
                return True
            self.board.remove(i)
        return False

    def _places(self, i: int) -> Iterator[Found]:
        """Every free place with every crew and every choice of units that differ."""
        board = self.board
        start, start_by, end, end_by = board.bounds(i, board.least[i])
        for way in board.lots.ways[i]:
            low = start
            while (found := board.find_by(i, (low, start_by, end, end_by), (way,))) is not None:
                yield found
                low = found[0] + 1


def search(board: Board) -> bool:
    """Lay out any plan of a tiny world; False if there is none, or the world is too big to tell."""
    found, _ = _tried(board)
    return found


def nowhere(board: Board) -> bool:
    """Return True if every place of every work was tried in vain; False if not, or too big to tell."""
    found, through = _tried(board)
    return through and not found


def _tried(board: Board) -> tuple[bool, bool]:
    """Whether a plan of a tiny world was found, and whether it was tried through and through."""
    if len(board.ready.works) - len(board.ready.fixed) > MOST_WORKS:
        return False, False
    try:
        return _Search(board).place(0), True
    except _Spent:
        return False, False
