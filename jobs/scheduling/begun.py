"""Where works stand that have begun: as they were logged, and from now on at once with the crew they have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .errors import NoPlan
from .result import Placement

if TYPE_CHECKING:
    from .ready import Ready
    from .world import Done, Work

Unit = tuple[str, int]
"""A machine by its kind, and which one of that kind."""


def where_begun(ready: Ready) -> dict[int, Placement]:
    """Return the places of all works that have begun, by number."""
    taken: set[Unit] = set()
    return {
        i: _place(ready, work, work.done, taken)
        for i, work in enumerate(ready.works)
        if work.done is not None
    }


def _place(ready: Ready, work: Work, done: Done, taken: set[Unit]) -> Placement:
    """Return where one stands; one that runs goes on at once."""
    if done.end is not None:
        return Placement(done.start, done.end, done.crew)
    units = _units(ready, work, taken)
    bits = ready.bits(work, done.crew)
    for machine, unit in units:
        bits &= ready.world.machines[machine].open[unit]
    end = ready.calendar(bits).end(ready.world.now, work.crews.get(done.crew, work.slots))
    if end >= ready.size:
        raise off_axis(work)
    return Placement(done.start, end, done.crew, units)


def _units(ready: Ready, work: Work, taken: set[Unit]) -> tuple[Unit, ...]:
    """Give running work the first units of its machines that other running work leaves free."""
    units: list[Unit] = []
    for name, count in work.machines.items():
        free = [(name, u) for u in range(len(ready.world.machines[name].open))]
        units += [unit for unit in free if unit not in taken][:count]
    taken.update(units)
    return tuple(units)


def off_axis(work: Work) -> NoPlan:
    """Tell that a work cannot be ended within the days that are planned."""
    return NoPlan(
        f"{work.name} cannot be ended within the days that are planned",
        remedy="let its crew work on more days, give its skill to another one, or free it of a date fixed by hand",
        culprits=(work.id,),
    )
