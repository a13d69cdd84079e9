"""Which wishes cannot all be kept? A smallest set of them, by name.

Wishes are left out as long as no plan is found with those that remain; what is left then needs every one of
its members to be impossible. That no plan exists is certain where the network alone forbids it, or where a
tiny world was tried through and through; else it is only what the quick builder could not fit, and said so.
That a smaller set can be kept is always certain: a plan was found.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.placing.board import Board
from jobs.scheduling.placing.exact import nowhere
from jobs.scheduling.ready import Ready
from jobs.scheduling.search.dispatch import build_plan

from .wishes import Kind, wishes_of, world_with

if TYPE_CHECKING:
    from collections.abc import Callable

    from jobs.scheduling.result import Stop
    from jobs.scheduling.world import World

    from .wishes import Key, Wish


@dataclass(frozen=True, slots=True)
class Conflict:
    """Wishes that cannot all be kept.

    Attributes
    ----------
    wishes
        Empty if there is no plan whatever is given up.
    proven
        True if no plan can keep them all; else none was found.
    smallest
        True if a plan was found without any one of them.
    refusal
        What the planner says of it: the chain or ring of works that does not fit.
    soonest
        Beside each wish that something ends by a day: the day on which it could, ISO text, by the links
        and the other wishes alone; empty where that is no later than wished.
    """

    wishes: tuple[Wish, ...]
    proven: bool
    smallest: bool
    refusal: NoPlan
    soonest: tuple[str, ...]


def find_conflict(
    world: World, *, promises: bool = False, stop: Stop | None = None
) -> Conflict | None:
    """Return a smallest set of wishes that cannot all be kept; None if a plan keeps them all.

    Parameters
    ----------
    promises
        Wish that every promise is kept, too, whatever it costs others.
    stop
        Asked between two tries; True gives back what is left so far, which may not be smallest.
    """
    return _Search(world, stop).find(wishes_of(world, promises=promises))


class _Search:
    def __init__(self, world: World, stop: Stop | None) -> None:
        self._world, self._stop = world, stop
        self._asked: dict[tuple[Key, ...], tuple[bool | None, NoPlan | None]] = {}

    def find(self, wishes: tuple[Wish, ...]) -> Conflict | None:
        """Look for a set that is proven first, and for one that was not planned only if it must."""
        fits, _ = self._ask(wishes)
        if fits:
            return None
        if fits is False:
            kept = self._shrink(wishes, lambda some: self._ask(some)[0] is False)
        else:
            kept = self._shrink(wishes, lambda some: self._ask(some)[0] is not True)
        fits, refusal = self._ask(kept)
        less = (kept[:n] + kept[n + 1 :] for n in range(len(kept)))
        smallest = not self._over() and all(self._ask(some)[0] for some in less)
        soonest = tuple(self._soonest(kept, n) for n in range(len(kept)))
        refusal = refusal or NoPlan("no plan was found")
        return Conflict(kept, fits is False, smallest, refusal, soonest)

    def _soonest(self, kept: tuple[Wish, ...], n: int) -> str:
        """Day on which what a wish is about could end without that wish."""
        wish = kept[n]
        if wish.kind not in (Kind.NOT_AFTER, Kind.PROMISE):
            return ""
        try:
            ready = Ready(world_with(self._world, kept[:n] + kept[n + 1 :]))
            early = early_dates(ready)
        except NoPlan:
            return ""
        ends = [
            early.end[i]
            for i, work in enumerate(ready.works)
            if wish.about in (work.id, work.job) and (wish.kind is Kind.NOT_AFTER or work.counts)
        ]
        axis = self._world.axis
        day = axis.day(max(ends)).isoformat()
        return day if day > str(wish.sentence.values["day"]) else ""

    def _shrink(
        self, wishes: tuple[Wish, ...], fails: Callable[[tuple[Wish, ...]], bool]
    ) -> tuple[Wish, ...]:
        """Leave out halves, quarters and so on down to single wishes while it fails without them."""
        size = max(1, len(wishes) // 2)
        while True:
            n = 0
            while n < len(wishes) and not self._over():
                fewer = wishes[:n] + wishes[n + size :]
                if fails(fewer):
                    wishes = fewer
                else:
                    n += size
            if size == 1 or self._over():
                return wishes
            size //= 2

    def _over(self) -> bool:
        return self._stop is not None and self._stop()

    def _ask(self, wishes: tuple[Wish, ...]) -> tuple[bool | None, NoPlan | None]:
        key = tuple(wish.key for wish in wishes)
        if key not in self._asked:
            self._asked[key] = can_be_planned(world_with(self._world, wishes))
        return self._asked[key]


def can_be_planned(world: World) -> tuple[bool | None, NoPlan | None]:
    """Return True if a plan was found, False if there can be none, None if none was found; and why not."""
    try:
        ready = Ready(world)
        early = early_dates(ready)
    except NoPlan as error:
        return False, error
    try:
        build_plan(world)
    except NoPlan as error:
        return (False if nowhere(Board(ready, early)) else None), error
    return True, None
