"""One try near an old plan: a few works are put elsewhere, and who is in the way or can no longer stand moves on.

A work that is *pressed* makes room for itself: the works of its crew, in its place or with its machine
that stand there are taken out as well. Whatever a link no longer lets stand is taken out, too, and all
find places again, forerunners first. So a try moves a dozen works, not whole yards.
"""

from __future__ import annotations

from heapq import heappop, heappush
from typing import TYPE_CHECKING

from .room import Room, Wish

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.scheduling.binds import Bind
    from jobs.scheduling.placing.board import Found
    from jobs.scheduling.placing.ways import Way

    from .room import Aim
    from .standing import Standing

STEP = 1e-4
"""How much later than its forerunner a work comes at least, in slots."""
MOST_OUT, PUTS = 160, 2.5
"""Works that one try may take out, and times it may put works for each of them, before it is given up."""


class Jostle:
    """One try; what it changed can be taken back.

    Parameters
    ----------
    most_out
        Works that it may take out.

    Attributes
    ----------
    stood
        The works it moved, with where they stood before it.
    """

    def __init__(self, standing: Standing, aim: Aim, most_out: int = MOST_OUT) -> None:
        self.standing, self.aim, self._most_out = standing, aim, most_out
        self.board, self._room = standing.board, Room(standing)
        self.stood: dict[int, tuple[int, int, Way | None]] = {}
        self._held, self._slow = self.board.held[:], dict(self.board.ledger.held)
        self._out: dict[int, float] = {}
        self._heap: list[tuple[float, int]] = []
        self._least: dict[int, tuple[int, int]] = {}

    def run(self) -> bool:
        """Move works until all stand; False if one finds no place or too many would move."""
        standing, aim = self.standing, self.aim
        for i in aim.works:
            turn = standing.turn[i] if aim.old_turns else float(self.board.start[i])
            self._take_out(i, turn + aim.shift.get(standing.of[i], 0.0))
        for _ in range(int(PUTS * self._most_out)):
            if not self._out:
                return True
            i, turn = self._next()
            if len(self.stood) > self._most_out or not self._put(i, turn):
                return False
        return False

    def take_back(self) -> None:
        """Put everything as it was before."""
        board, count = self.board, self.standing.count
        for i in self.stood:
            if i not in self._out:
                count(i, -1)
        board.held, board.ledger.held = self._held, self._slow
        for i, (start, end, way) in self.stood.items():
            board.start[i], board.end[i], board.by[i] = start, end, way
            count(i, 1)

    def moved(self) -> bool:
        """Return True if any work stands elsewhere than before."""
        board = self.board
        return any(
            place != (board.start[i], board.end[i], board.by[i]) for i, place in self.stood.items()
        )

    def _take_out(self, i: int, turn: float) -> None:
        board = self.board
        self.stood.setdefault(i, (board.start[i], board.end[i], board.by[i]))
        self.standing.count(i, -1)
        board.remove(i)
        self._wait(i, turn)

    def _wait(self, i: int, turn: float) -> None:
        self._out[i] = turn
        heappush(self._heap, (turn, i))

    def _next(self) -> tuple[int, float]:
        """Return whose turn it is: the first by turn whose forerunners all stand."""
        while True:
            turn, i = heappop(self._heap)
            if self._out.get(i) != turn:
                continue
            waiting = [self._out[j] for j in self.standing.before[i] if j in self._out]
            if not waiting:
                return i, turn
            self._wait(i, max(*waiting, turn) + STEP)

    def _put(self, i: int, turn: float) -> bool:
        """Put a work, and take out whatever cannot stand because of it."""
        board, standing = self.board, self.standing
        found = self._place_for(i)
        if found is None:
            return self._put_off(i, turn)
        del self._out[i]
        board.place(i, *found)
        standing.count(i, 1)
        for j in standing.after[i]:
            if j not in self._out and not standing.board.stands(j):
                self._take_out(j, max(float(board.start[j]), turn + STEP))
        return True

    def _place_for(self, i: int) -> Found | None:
        board, aim, room = self.board, self.aim, self._room
        bounds = board.bounds(i, self._least.get(i, board.least[i]))
        found = None
        if i in aim.pressed and aim.wish is Wish.SOONEST:
            found = self._press(i, room.soonest(aim.ways[i], bounds))
        elif i in aim.pressed:
            found = self._press(i, room.old_place(i, bounds))
        elif aim.keep:
            found = room.old_place(i, bounds)
            found = found if found is not None and room.is_free(i, found) else None
        return found if found is not None else room.cheapest(i, bounds, aim)

    def _press(self, i: int, found: Found | None) -> Found | None:
        """Take out who is in the way of a place; return it once it is free."""
        if found is None or self._room.is_free(i, found):
            return found
        for others in self._in_the_way(i, found):
            if any(j in self.aim.pressed for j in others):
                return None
            for j in others:
                self._take_out(j, float(self.board.start[j]))
            if others and self._room.is_free(i, found):
                return found
        return None

    def _in_the_way(self, i: int, found: Found) -> Iterator[list[int]]:
        """Works that may stand in the way of a place: of the crew, on the spot, with the machines."""
        standing, board = self.standing, self.board
        start, end, way = found
        mine = board.masks[end - start] << start & way.bits
        wide = board.lots.spread(mine) if way.halves else mine
        for crew in standing.held(way):
            there = standing.with_crew[crew]
            yield [j for j in there if self._meets(j, i, (start, end), wide)]
        spot = standing.works[i].place
        yield [
            j
            for j in standing.members[standing.of[i]]
            if j != i and standing.works[j].place == spot and self._overlaps(j, start, end)
        ]
        for machine in standing.works[i].machines:
            users = standing.users[machine]
            yield [j for j in users if j != i and self._overlaps(j, start, end)][:1]

    def _overlaps(self, j: int, start: int, end: int) -> bool:
        board = self.board
        return j not in self._out and board.start[j] <= end and board.end[j] >= start

    def _meets(self, j: int, i: int, span: tuple[int, int], wide: int) -> bool:
        """Return True if a work of a crew is in its way: on its slots, or elsewhere in the same half day."""
        board, of, way = self.board, self.standing.of, self.board.by[j]
        start, end = board.start[j], board.end[j]
        if start <= span[1] and end >= span[0]:
            return True
        if of[j] == of[i] or way is None:
            return False
        return bool(board.masks[end - start] << start & way.bits & wide)

    def _put_off(self, i: int, turn: float) -> bool:
        """Make forerunners come later so that a work can follow them in time; False if they cannot."""
        board, fixed = self.board, self.standing.ready.fixed
        start, _, end, _ = board.bounds(i, self._least.get(i, board.least[i]))
        found = board.find(i, (start, board.last_slot, end, board.last[i]))
        if found is None:
            return False
        asked = False
        for bind in board.lots.late[i]:
            j, event = bind.before, found[1] if bind.to_finish else found[0]
            bound = self._too_soon(bind, event)
            if bound is None:
                continue
            if j in fixed or j in self._out:
                return False
            low, least = self._least.get(j, board.least[j])
            self._least[j] = (low, bound) if bind.from_finish else (bound, least)
            self._take_out(j, float(board.start[j]))
            asked = True
        if asked:
            self._wait(i, turn)
        return asked

    def _too_soon(self, bind: Bind, event: int) -> int | None:
        """Return the slot that a forerunner has to wait for; None if it stands late enough."""
        board = self.board
        stands = board.end[bind.before] if bind.from_finish else board.start[bind.before]
        if bind.latest is None or bind.earliest_event is None or event <= bind.latest[stands]:
            return None
        bound = bind.earliest_event[event]
        return bound if bound > stands else None
