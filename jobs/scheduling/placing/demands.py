"""What each work takes up when it is placed besides crew, machines and room: way, ground; read once per world."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.world import Keepout, Work, World

Key = tuple[str, ...]


class WayIn(NamedTuple):
    """A passage hauled through, the percentage taken of it and what there is."""

    key: Key
    share: int
    most: int


class Demand(NamedTuple):
    """What a work takes up.

    Attributes
    ----------
    day
        Slots in a day for work that must begin and end on one; 0 for all other.
    """

    work: Work
    ways: tuple[WayIn, ...]
    keepouts: tuple[Keepout, ...]
    day: int


def demands_of(ready: Ready) -> list[Demand]:
    """Read what every work takes up."""
    world, day = ready.world, ready.per_day
    return [
        Demand(
            work,
            _ways(world, work) if work.hauls else (),
            work.keepouts,
            day if work.one_go else 0,
        )
        for work in ready.works
    ]


def _ways(world: World, work: Work) -> tuple[WayIn, ...]:
    return tuple(
        WayIn(("way", name), share, world.places[name].share) for name, share in work.hauls.items()
    )
