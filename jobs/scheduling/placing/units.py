"""Which unit of a machine each work gets, once it is known that there are enough at every moment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.scheduling.result import Placement

from .lots import alike

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobs.scheduling.ready import Ready

    from .board import Board
    from .ways import Way


def placements_on(board: Board) -> dict[int, Placement]:
    """Return where every work on a board stands, with crew and units of machines."""
    return give_units(board.ready, board.start, board.end, board.by)


def give_units(
    ready: Ready, starts: Sequence[int], ends: Sequence[int], by: Sequence[Way | None]
) -> dict[int, Placement]:
    """Return where every work stands, with crew and units of machines.

    Units that are alike are given out in order of starts, each the first one that is free; where no
    more are wanted at once than there are, that never runs out.
    """
    placed = dict(ready.fixed)
    free_from = _after_facts(ready)
    free = [i for i in range(len(ready.works)) if i not in placed]
    for i in sorted(free, key=starts.__getitem__):
        way, start, end = by[i], starts[i], ends[i]
        crew, units = (way.option.crew, way.units) if way else ("", ())
        for name, count in ready.works[i].machines.items():
            if name in free_from:
                found = [u for u, slot in enumerate(free_from[name]) if slot <= start][:count]
                units = (*units, *((name, unit) for unit in found))
                for unit in found:
                    free_from[name][unit] = end + 1
        placed[i] = Placement(start, end, crew, units)
    return placed


def _after_facts(ready: Ready) -> Mapping[str, list[int]]:
    """First slot from which each unit of machines that are alike is free of work that has begun."""
    machines = ready.world.machines
    free = {name: [0] * len(it.open) for name, it in machines.items() if alike(ready, name)}
    for at in ready.fixed.values():
        for name, unit in at.machines:
            if name in free:
                free[name][unit] = max(free[name][unit], at.end + 1)
    return free
