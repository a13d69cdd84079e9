"""Time lost: slots closed to works and crews, applied to a world as one step that can be left out.

A loss is told apart from the rest of the calendar so that the same world can be read with and without it:
that is how its share in a moved date is reckoned.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from jobs.scheduling.errors import BadWorld

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.scheduling.world import World

HALF = 2
"""A day with at least one in so many of its hours lost is a weather day."""


@dataclass(frozen=True, slots=True)
class Loss:
    """Slots in which some works cannot be done and some crews do not work.

    Attributes
    ----------
    slots
        Bitmap of the slots lost.
    works, crews
        Ids of those it stops; anything else goes on.
    """

    slots: int
    works: frozenset[str] = frozenset()
    crews: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        """Refuse a loss before time began."""
        if self.slots < 0:
            raise BadWorld(
                "a loss of slots without end cannot be planned around",
                remedy="say from when to when time was lost",
            )


def lose(world: World, losses: Iterable[Loss]) -> World:
    """Return a world with the slots of all losses closed to whom they stop.

    Work that is over stays as it was; running work goes on when its slots are open again.
    """
    by_work: dict[str, int] = defaultdict(int)
    by_crew: dict[str, int] = defaultdict(int)
    for loss in losses:
        for work in loss.works:
            by_work[work] |= loss.slots
        for crew in loss.crews:
            by_crew[crew] |= loss.slots
    if not by_work and not by_crew:
        return world
    full = (1 << world.axis.size) - 1
    works = {
        name: replace(work, window=(full if work.window is None else work.window) & ~lost)
        if (lost := by_work.get(name, 0))
        else work
        for name, work in world.works.items()
    }
    crews = {
        name: replace(crew, open=crew.open & ~lost, optional=crew.optional & ~lost)
        if (lost := by_crew.get(name, 0))
        else crew
        for name, crew in world.crews.items()
    }
    return replace(world, works=works, crews=crews)
