"""The same world without weekends, for *no overtime*."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from jobs.scheduling.calendars import days_mask
from jobs.scheduling.upset import SATURDAY

if TYPE_CHECKING:
    from jobs.scheduling.world import World


def without_weekends(world: World) -> World:
    """Return a world in which no crew works on Saturdays and Sundays; the same if none does."""
    axis = world.axis
    weekend = 0
    for day in range(axis.days):
        date = axis.day(day * axis.per_day)
        if date.weekday() >= SATURDAY and day * axis.per_day >= world.now:
            weekend |= days_mask(axis, date, date)
    if not any(crew.open & weekend for crew in world.crews.values()):
        return world
    crews = {name: replace(crew, open=crew.open & ~weekend) for name, crew in world.crews.items()}
    return replace(world, crews=crews)
