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
    from collections.abc import Set as AbstractSet

    from jobs.trade.work import Shift

LATER = 1e6
"""Turn of a work that the old plan does not know: after all that it knows."""
FOR_GOOD = 28
"""Days at the end of the axis in which who stays is there on some day."""
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

    What a crew that leaves cannot do any more in its turn is done by whoever is free of those that can, or is
    hired. Where that is not enough, all that was its to do is anybody's.

    Raises
    ------
    NoPlan
        If what must follow soon cannot.
    """
    going = frozenset(name for name in world.crews if _goes(world, name))
    try:
        return _pushed(world, old, [n for n in old if _keeps_crew(world, n, old, going)])
    except NoPlan:
        stay = [n for n in old if old[n].crew not in going]
        if not going:
            raise
    return _pushed(world, old, [n for n in stay if _keeps_crew(world, n, old, going)])


def _pushed(world: World, old: Mapping[str, Placement], kept: Sequence[str]) -> Plan:
    """Push all right, some works with the crews they had and in the order in which these had them."""
    keep = frozenset(kept)
    works = {
        name: replace(w, pin=_pin(world, w.id, old, keep=name in keep))
        for name, w in world.works.items()
    }
    chained = replace(world, works=works, ties=(*world.ties, *_chains(world, old, keep)))
    ready = Ready(chained)
    turns = [
        float(old[work.id].start) if work.id in old else LATER + i
        for i, work in enumerate(ready.works)
    ]
    return _built(ready, turns)


def _goes(world: World, crew: str) -> bool:
    """Return True if a crew of the house is gone before the end of the days that are planned."""
    axis, it = world.axis, world.crews[crew]
    return not it.hired and not it.open >> max(0, axis.size - FOR_GOOD * axis.per_day)


def _keeps_crew(
    world: World, name: str, old: Mapping[str, Placement], going: AbstractSet[str]
) -> bool:
    """Return True if the crew a work had can do it still, from where it was on."""
    work, crew = world.works.get(name), old[name].crew
    if work is None or crew not in work.crews:
        return False
    if crew not in going:
        return not any(map(world.is_hired, work.crews))
    left = world.crews[crew].open >> max(old[name].start, world.now, 0)
    return left.bit_count() >= work.crews[crew]


def _pin(world: World, name: str, old: Mapping[str, Placement], *, keep: bool) -> Pin:
    work = world.works[name]
    at = old.get(name)
    if at is None or work.done is not None:
        return work.pin
    crew = at.crew if keep else work.pin.crew
    return replace(work.pin, not_before=max(at.start, work.pin.not_before or 0), crew=crew)


def _chains(world: World, old: Mapping[str, Placement], keep: AbstractSet[str]) -> list[Tie]:
    """Tie the works each crew keeps, as they followed each other; linked pairs are tied already."""
    by_crew: dict[tuple[str, Shift], list[str]] = {}
    for name, work in world.works.items():
        if name in keep and work.done is None:
            by_crew.setdefault((old[name].crew, work.shift), []).append(name)
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
