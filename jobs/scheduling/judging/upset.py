"""How much a plan upsets what people were told, counted day by day on a paper calendar."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from jobs.scheduling.weights import NEARNESS
from jobs.trade.work import Shift

from .case import Case

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.scheduling.world import World


def count_upset(case: Case) -> int:
    """Weigh the days on which a crew goes to other yards than published, the nearer the heavier."""
    world = case.world
    if not world.published:
        return 0
    told = _yards(Case(world, replace(case.plan, placements=world.published)))
    planned = _yards(case)
    return sum(
        weight
        for weight, day in zip(NEARNESS, _working_days(world), strict=False)
        for crew in world.crews
        if told[crew, day] != planned[crew, day]
    )


def _yards(case: Case) -> defaultdict[tuple[str, int], set[str]]:
    """The jobs each crew works for on each day."""
    found: defaultdict[tuple[str, int], set[str]] = defaultdict(set)
    for name, slots in case.worked.items():
        for crew in case.held_crews(name):
            for slot in slots:
                found[crew, slot // case.axis(name).per_day].add(case.job(name).id)
    return found


def _working_days(world: World) -> Iterator[int]:
    """Days on which somebody works by day from now on, by number on the axis."""
    axis = world.axis
    for day in range(world.now // axis.per_day, axis.days):
        slots = [
            slot
            for slot in range(max(world.now, day * axis.per_day), (day + 1) * axis.per_day)
            if axis.positions[slot % axis.per_day].shift is Shift.DAY
        ]
        ours = [crew for crew in world.crews.values() if not crew.hired]
        if any(crew.open >> slot & 1 for crew in ours for slot in slots):
            yield day
