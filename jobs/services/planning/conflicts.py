"""Wishes that cannot all be kept, told by name: when planning, and beside the field of what is done by hand."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING

from jobs.scheduling.asking.conflicts import can_be_planned, find_conflict
from jobs.scheduling.asking.wishes import Kind
from jobs.scheduling.errors import NoPlan, SchedulingError
from jobs.services.telling.words import say
from jobs.services.world.read_world import read_world
from jobs.trade.work import Sentence

from .solve_world import Seconds

if TYPE_CHECKING:
    from datetime import datetime

    from jobs.scheduling.asking.conflicts import Conflict
    from jobs.scheduling.asking.wishes import Wish
    from jobs.scheduling.world import World

MOST_SECONDS = 4.0
"""Time to look for a smallest set in; what is left by then is told."""
PINS = (Kind.NOT_BEFORE, Kind.NOT_AFTER, Kind.CREW)


class CannotAllBeKept(NoPlan):
    """Some wishes stand against each other, and the kind of the one that was just being added, if one was."""

    def __init__(
        self,
        reason: str,
        *,
        remedy: str = "",
        culprits: tuple[str, ...] = (),
        conflict: Conflict | None = None,
        mine: Kind | None = None,
    ) -> None:
        super().__init__(reason, remedy=remedy, culprits=culprits)
        self.conflict, self.mine = conflict, mine


def explained(world: World, error: NoPlan) -> NoPlan:
    """Return why a world cannot be planned by the wishes that stand against each other, if any do."""
    conflict = find_conflict(world, stop=Seconds(monotonic() + MOST_SECONDS))
    return error if conflict is None or not conflict.wishes else _refusal(conflict)


def promises_against(world: World) -> Conflict | None:
    """Return a smallest set of promises, and of what was wished by hand, that cannot all be kept."""
    stop = Seconds(monotonic() + MOST_SECONDS)
    conflict = find_conflict(world, promises=True, stop=stop)
    return conflict if conflict is not None and conflict.wishes else None


def told(conflict: Conflict) -> str:
    """Return what is known of a conflict, in words, without the wishes themselves."""
    key = "conflict-proven" if conflict.proven else "conflict-found"
    if len(conflict.wishes) == 1:
        return say(Sentence(f"{key}-one"))
    known = say(Sentence(key))
    return known if conflict.smallest else f"{known}. {say(Sentence('conflict-unfinished'))}"


def wishes_in(conflict: Conflict) -> tuple[str, ...]:
    """Return each wish in words, with the day on which it could be had."""
    return tuple(
        f"{say(wish.sentence)} {say(Sentence('wish-soonest', {'day': day})) if day else ''}".strip()
        for wish, day in zip(conflict.wishes, conflict.soonest, strict=True)
    )


def refuse_impossible(now: datetime, work: str, *, before: str = "") -> None:
    """Refuse what was just wished of a work by hand if it is proven that not all wishes can be kept.

    What could not be planned already, for reasons of its own, is not laid at this door; and what the
    quick builder merely finds no plan for is kept, and told when planning.

    Parameters
    ----------
    work, before
        Uids of the work that was pinned, or tied to come after another one.

    Raises
    ------
    CannotAllBeKept
        With the wishes that stand against each other, the new one among them.
    """
    try:
        world = read_world(now).world
    except SchedulingError:
        return
    if can_be_planned(world)[0] is not False:
        return
    conflict = find_conflict(world, stop=Seconds(monotonic() + MOST_SECONDS))
    if conflict is None or not conflict.proven:
        return
    for wish in conflict.wishes:
        if wish.about == work and _is_new(world, wish, before):
            raise _refusal(conflict, wish.kind)


def _is_new(world: World, wish: Wish, before: str) -> bool:
    if not before:
        return wish.kind in PINS
    return wish.tie is not None and world.ties[wish.tie].before == before


def _refusal(conflict: Conflict, mine: Kind | None = None) -> CannotAllBeKept:
    wishes = "; ".join(line.rstrip(".") for line in wishes_in(conflict))
    many = len(conflict.wishes) > 1
    return CannotAllBeKept(
        f"{told(conflict)}: {wishes}",
        remedy=say(Sentence("conflict-loosen" if many else "conflict-loosen-one")),
        culprits=tuple(wish.about for wish in conflict.wishes),
        conflict=conflict,
        mine=mine,
    )
