"""Ways out after time was lost: their names, what they are looked for from, and what is found."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.scheduling.asking.overtime import Saving
    from jobs.scheduling.result import Placement, Result
    from jobs.scheduling.upset import Lines
    from jobs.scheduling.world import World


class Way(StrEnum):
    """Ways out by name."""

    PUSH_RIGHT = "push-right"
    OLD_ORDER = "old-order"
    STEADY = "steady"
    ON_PROMISE = "on-promise"
    NO_OVERTIME = "no-overtime"


AT_ONCE = (Way.PUSH_RIGHT, Way.OLD_ORDER)
"""The first answer; the better one is told first."""
BETTER = (Way.STEADY, Way.ON_PROMISE, Way.NO_OVERTIME)


@dataclass(frozen=True, slots=True)
class Storm:
    """What ways out are looked for from.

    Attributes
    ----------
    world
        With the time lost; ``world.now`` is the first slot that can be planned.
    before
        The same world without it.
    published
        Where the works stood, by id, on the same slot axis.
    last_lost
        Number on the axis of the last day lost.
    rented
        Machines that are rented.
    """

    world: World
    before: World
    published: Mapping[str, Placement]
    last_lost: int
    rented: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class WayOut:
    """A sound plan with its six lines.

    Attributes
    ----------
    savings
        The optional days it asks for.
    least_changed
        Crew-days that no plan can help changing, where that was counted.
    """

    way: Way
    result: Result
    lines: Lines
    savings: tuple[Saving, ...] = ()
    least_changed: int | None = None


@dataclass(frozen=True, slots=True)
class NoWay:
    """A way that gives no plan of its own: the reason, or the way it is a twin of."""

    way: Way
    reason: str = ""
    twin: Way | None = None
