"""Mend a plan whose world has changed: keep what still stands, move what must, or build anew in the old order.

All three rules are quick and repeat: the same world and the same old plan give the same answer.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Placement, Plan
from jobs.scheduling.world import Pin, Tie, World

from .board import Board
from .builder import build_in_turn
from .held_back import held_back
from .putting import in_order, put_back
from .requests import pull_requests

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from jobs.trade.work import Shift

LATER = 1e6
"""Turn of a work that the old plan does not know: after all that it knows."""
MOST_ROUNDS = 60
"""Rounds in which moved works push others before everything is built anew."""


class Mender:
    """A world on a board, with the old plan it is mended from."""

    def __init__(self, world: World, old: Mapping[str, Placement]) -> None:
        self.ready = Ready(world)
        self.board = Board(self.ready, early_dates(self.ready))
        self.old = {i: old[w.id] for i, w in enumerate(self.ready.works) if w.id in old}
        self.free = [i for i in self.ready.order if i not in self.ready.fixed]
        self.turn = {i: self.turn_of(i) for i in self.free}

    def turn_of(self, i: int) -> float:
        """Return when a work had its turn in the old plan."""
        at = self.old.get(i)
        return LATER + i if at is None else float(at.start)

    def clear(self) -> None:
        """Take everything out that has not begun."""
        self.board.clear()

    def lay_out(self, plan: Plan) -> None:
        """Show another plan on the board, which is clear.

        Raises
        ------
        NoPlan
            If a work cannot stand there.
        """
        for i in self.free:
            work = self.ready.works[i]
            if not self.board.put_where(i, plan[work.id]):
                raise NoPlan(
                    f"{work.name} cannot be laid out where it was planned",
                    remedy="report this: builder and board differ",
                    culprits=(work.id,),
                )

    def keep_places(self) -> bool:
        """Put everything where it was, and move only what cannot stand there; False if that fails."""
        board = self.board
        moved = [i for i in self.free if not self.put_where_it_was(i)]
        for _ in range(MOST_ROUNDS):
            for i in moved:
                board.remove(i)
            if not put_back(board, self._in_turn(moved)):
                return False
            pushed = [i for i in self.free if not self.board.stands(i)]
            if not pushed:
                return True
            moved = [*moved, *(i for i in pushed if i not in moved)]
        return False

    def put_where_it_was(self, i: int) -> bool:
        """Put a work where the old plan had it, if it may stand there."""
        at = self.old.get(i)
        return at is not None and at.start >= 0 and self.board.put_where(i, at)

    def _in_turn(self, works: Iterable[int]) -> list[int]:
        return in_order(self.board.lots, {i: self.turn[i] for i in works}, self.board.lots.first)

    def plan(self) -> Plan:
        """Return what stands on the board, calls and orders worked back from their needs."""
        return _plan_on(self.board)


def keep_places(world: World, old: Mapping[str, Placement]) -> Plan:
    """Keep every work where it was that can still stand there; move the others into gaps.

    Raises
    ------
    NoPlan
        If no place is found for some work.
    """
    mender = Mender(world, old)
    if mender.keep_places():
        return mender.plan()
    return in_old_order(world, old)


def in_old_order(world: World, old: Mapping[str, Placement]) -> Plan:
    """Build anew, each work in its old turn, as soon as it can and by whoever is done first.

    Raises
    ------
    NoPlan
        If no place is found for some work.
    """
    ready = Ready(world)
    turns = [
        float(old[work.id].start) if work.id in old else LATER + i
        for i, work in enumerate(ready.works)
    ]
    return _built(ready, turns)


def push_right(world: World, old: Mapping[str, Placement]) -> Plan:
    """Keep crews and the order of each crew's works; nothing begins before it was to begin.

    Where no crew of the house stays able to do a work, whoever is free of those that are, or is hired, does it.

    Raises
    ------
    NoPlan
        If what must follow soon cannot.
    """
    works = {name: replace(w, pin=_pin(world, w.id, old)) for name, w in world.works.items()}
    chained = replace(world, works=works, ties=(*world.ties, *_chains(world, old)))
    ready = Ready(chained)
    turns = [
        float(old[work.id].start) if work.id in old else LATER + i
        for i, work in enumerate(ready.works)
    ]
    return _built(ready, turns)


def _pin(world: World, name: str, old: Mapping[str, Placement]) -> Pin:
    work = world.works[name]
    at = old.get(name)
    if at is None or work.done is not None:
        return work.pin
    stays = at.crew in work.crews and not any(map(world.is_hired, work.crews))
    crew = at.crew if stays else work.pin.crew
    return replace(work.pin, not_before=max(at.start, work.pin.not_before or 0), crew=crew)


def _chains(world: World, old: Mapping[str, Placement]) -> list[Tie]:
    """Tie the works of each crew, as they followed each other; linked pairs are tied already."""
    by_crew: dict[tuple[str, Shift], list[str]] = {}
    for name, work in world.works.items():
        at = old.get(name)
        if at is not None and at.crew and work.done is None and at.crew in work.crews:
            by_crew.setdefault((at.crew, work.shift), []).append(name)
    ties = []
    for names in by_crew.values():
        names.sort(key=lambda name: (old[name].start, old[name].end))
        ties += [Tie(a, b) for a, b in pairwise(names)]
    return ties


def _built(ready: Ready, turns: Sequence[float]) -> Plan:
    """Build in turn; what finds no place goes to the front, however often it takes."""
    board = Board(ready, early_dates(ready))
    build_in_turn(board, held_back(ready), turns, most_urgent=len(ready.works))
    return _plan_on(board)


def _plan_on(board: Board) -> Plan:
    placed = pull_requests(board)
    return Plan({work.id: placed[i] for i, work in enumerate(board.ready.works)})
