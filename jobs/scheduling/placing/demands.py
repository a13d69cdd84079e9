"""What each work takes up when it is placed: room, way, ground, machines; read once per world."""

from __future__ import annotations

from itertools import chain, combinations, islice, product
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from jobs.scheduling.calendars import Calendar
    from jobs.scheduling.ready import Option, Ready
    from jobs.scheduling.world import Keepout, Work, World

Key = tuple[str, ...]
Units = tuple[tuple[str, int], ...]

MOST_CHOICES = 60
"""Choices of machine units looked at per work; more only differ in which of many alike is taken."""


class Way(NamedTuple):
    """A passage hauled through, the percentage taken of it and what there is."""

    key: Key
    share: int
    most: int


class Choice(NamedTuple):
    """A crew with certain machine units, and the slots open to all of them."""

    option: Option
    units: Units
    calendar: Calendar


class Demand(NamedTuple):
    """What a work takes up.

    Attributes
    ----------
    rooms
        Zone and yard, each with how many crews it has room for.
    choices
        Every crew with every choice of machine units; none for what has begun.
    """

    work: Work
    rooms: tuple[tuple[Key, int], ...]
    ways: tuple[Way, ...]
    keepouts: tuple[Keepout, ...]
    choices: tuple[Choice, ...]
    day: int


def demands_of(ready: Ready) -> list[Demand]:
    """Read what every work takes up."""
    units: dict[Units, list[tuple[Units, int]]] = {}
    for work in ready.works:
        wanted = tuple(work.machines.items())
        if wanted not in units:
            units[wanted] = list(islice(_units(ready.world, wanted), MOST_CHOICES))
    return [_demand(ready, i, units) for i in range(len(ready.works))]


def _demand(ready: Ready, i: int, units: Mapping[Units, list[tuple[Units, int]]]) -> Demand:
    work = ready.works[i]
    held = units[tuple(work.machines.items())]
    ways = [
        Way(("way", name), share, ready.world.places[name].share)
        for name, share in work.hauls.items()
    ]
    return Demand(
        work,
        tuple(_rooms(ready.world, work)),
        tuple(ways),
        work.keepouts,
        tuple(_choices(ready, ready.options[i], held)),
        ready.per_day if work.one_go else 0,
    )


def _rooms(world: World, work: Work) -> Iterator[tuple[Key, int]]:
    if not work.crews:
        return
    yield ("yard", work.job, work.shift), world.jobs[work.job].crews
    room = world.places[work.place].crews if work.place else None
    if room is not None:
        yield ("zone", work.place, work.shift), room


def _choices(
    ready: Ready, options: Sequence[Option], held: Sequence[tuple[Units, int]]
) -> Iterator[Choice]:
    for option in options:
        calendar = option.calendar
        for units, opened in held:
            shut = units and calendar.bits & ~opened
            yield Choice(
                option, units, ready.calendar(calendar.bits & opened) if shut else calendar
            )


def _units(world: World, wanted: Units) -> Iterator[tuple[Units, int]]:
    """Every choice of as many units as are wanted of each machine, and the slots open to all."""
    each = [
        combinations([(name, unit) for unit in range(len(world.machines[name].open))], count)
        for name, count in wanted
    ]
    for choice in product(*each):
        units, opened = tuple(chain.from_iterable(choice)), -1
        for name, unit in units:
            opened &= world.machines[name].open[unit]
        yield units, opened
