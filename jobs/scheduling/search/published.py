"""What people have been told: the published plan as a part of the objective of the next one.

A re-plan must not ring every phone. Each crew-day within three working weeks on which a crew would work for
other yards than published counts, the nearer the more (see ``weights``); and what is published for
the next working day stays where it is, wherever it still can.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from jobs.scheduling.crew_days import CrewDays
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.placing.repair import keep_places
from jobs.scheduling.upset import changed, tours
from jobs.scheduling.weights import NEARNESS
from jobs.scheduling.world import Pin
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.scheduling.placing.board import Board
    from jobs.scheduling.result import Placement, Plan
    from jobs.scheduling.world import Work, World


def day_weights(world: World) -> dict[int, int]:
    """Return what a changed crew-day weighs, by day (its number on the axis), from the next slot on.

    A day counts while day slots are left of it: in the evening the next working day is tomorrow.
    """
    axis = world.axis
    per_day = axis.per_day
    anybody = world.anybody & axis.shift_mask(Shift.DAY)
    first, rest = world.now // per_day, anybody >> world.now << world.now
    whole, found = (1 << per_day) - 1, []
    for day in range(first, axis.days):
        if rest >> day * per_day & whole:
            found.append(day)
        if len(found) == len(NEARNESS):
            break
    return dict(zip(found, NEARNESS, strict=False))


def upset_of(world: World, placed: Mapping[str, Placement]) -> int:
    """Return the weights of all crew-days on which crews would work for other yards than published."""
    if not world.published:
        return 0
    weights = day_weights(world)
    differ = changed(tours(world, world.published), tours(world, placed), frozenset(weights))
    return sum(weights[day] for _, day in differ)


def next_day(world: World) -> int:
    """Return the next day on which anybody works, by its number on the axis; -1 if nobody does any more."""
    return min(day_weights(world), default=-1)


def settled(world: World) -> tuple[World, Plan | None]:
    """Return the world with the next working day fixed as published, and the published plan mended.

    Only what the mended plan keeps is fixed: what cannot stand there any more is free, and so is what
    somebody has pinned by hand. None if nothing is published, or it cannot be mended.
    """
    if not world.published:
        return world, None
    try:
        kept = keep_places(world, world.published)
    except NoPlan:
        return world, None
    until = next_day(world)
    per_day = world.axis.per_day
    works = {
        name: _fixed(work, kept[name])
        if world.published.get(name, kept[name])[:3] == kept[name][:3]
        and name in world.published
        and kept[name].start // per_day <= until
        else work
        for name, work in world.works.items()
    }
    return replace(world, works=works), kept


def _fixed(work: Work, at: Placement) -> Work:
    """Fix a work where it is, if it has not begun and nobody has fixed it otherwise by hand."""
    if work.done is not None or work.pin not in (Pin(), Pin(crew=at.crew)):
        return work
    return replace(work, pin=Pin(at.start, at.end, at.crew))


class KeptDays:
    """Upset of a plan that is moved about on a board, counted as it changes."""

    def __init__(self, board: Board) -> None:
        self.board, world = board, board.ready.world
        number = {name: n for n, name in enumerate(world.jobs)}
        self.of = [number[work.job] for work in board.ready.works]
        self.weights = day_weights(world)
        was = {
            key: frozenset(number[job] for job in jobs)
            for key, jobs in tours(world, world.published).items()
        }
        self.crew_days = CrewDays(was, frozenset(self.weights), board.ready.per_day)
        self.recount()

    @property
    def upset(self) -> int:
        """Weight of the crew-days that differ from what is published."""
        return sum(self.weights[day] for _, day in self.crew_days.wrong)

    def recount(self) -> None:
        """Count everything anew as the board stands."""
        ready = self.board.ready
        self.crew_days.clear()
        for i, at in ready.fixed.items():
            self._count(i, at.crew, ready.held(i, at).bits, (at.start, at.end), 1)
        self.count((i for i in range(len(ready.works)) if i not in ready.fixed), 1)

    def count(self, works: Iterable[int], sign: int) -> None:
        """Count works in (1) or out (-1) where they stand."""
        board = self.board
        for i in works:
            way = board.by[i]
            if way is not None:
                span = board.start[i], board.end[i]
                self._count(i, way.option.crew, way.bits, span, sign)

    def _count(self, i: int, crew: str, bits: int, span: tuple[int, int], sign: int) -> None:
        for held in self.board.ready.works[i].held_by(crew):
            self.crew_days.count(self.crew_days.of(held, self.of[i], bits, span), sign)
