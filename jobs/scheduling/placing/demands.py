"""What each work takes up when it is placed besides its crew and machines: room, way, ground; read once per world."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

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
    rooms
        Zone and yard, each with how many crews it has room for.
    day
        Slots in a day for work that must begin and end on one; 0 for all other.
    """

    work: Work
    rooms: tuple[tuple[Key, int], ...]
    ways: tuple[WayIn, ...]
    keepouts: tuple[Keepout, ...]
    day: int


def demands_of(ready: Ready) -> list[Demand]:
    """Read what every work takes up."""
    return [_demand(ready.world, work, ready.per_day) for work in ready.works]


def _demand(world: World, work: Work, per_day: int) -> Demand:
    ways = [
        WayIn(("way", name), share, world.places[name].share) for name, share in work.hauls.items()
    ]
    return Demand(
        work,
        tuple(_rooms(world, work)),
        tuple(ways),
        work.keepouts,
        per_day if work.one_go else 0,
    )


def _rooms(world: World, work: Work) -> Iterator[tuple[Key, int]]:
    if not work.crews:
        return
    yield ("yard", work.job, work.shift), world.jobs[work.job].crews
    room = world.places[work.place].crews if work.place else None
    if room is not None:
        yield ("zone", work.place, work.shift), room
