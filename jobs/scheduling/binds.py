"""Links by numbers, and who may do a work: what loops ask thousands of times a second."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from .calendars import Calendar
    from .world import Tie


class Lookup(dict[int, int]):
    """A function from slot to slot that remembers its answers."""

    def __init__(self, ask: Callable[[int], int]) -> None:
        super().__init__()
        self.ask = ask

    def __missing__(self, slot: int) -> int:
        """Ask once."""
        found = self[slot] = self.ask(slot)
        return found


Pull = tuple[int, bool, bool, Lookup]
"""How a link makes its follower come later: the forerunner, from its finish, to a finish, earliest event."""


class Bind(NamedTuple):
    """A link by numbers, with its waits as look-ups.

    Attributes
    ----------
    earliest, latest_event
        The follower's earliest event given the forerunner's, and back again.
    latest, earliest_event
        The same for the at-most; None without one.
    """

    before: int
    after: int
    from_finish: bool
    to_finish: bool
    earliest: Lookup
    latest_event: Lookup
    latest: Lookup | None
    earliest_event: Lookup | None
    tie: Tie

    @property
    def pull(self) -> Pull:
        """What of it loops ask for."""
        return self.before, self.from_finish, self.to_finish, self.earliest


def raised(
    low: tuple[int, int], pulls: Iterable[Pull], starts: Sequence[int], ends: Sequence[int]
) -> tuple[int, int]:
    """Raise a least start and a least end to what forerunners allow that start and end in these slots."""
    start, end = low
    for before, from_finish, to_finish, earliest in pulls:
        bound = earliest[ends[before] if from_finish else starts[before]]
        if to_finish:
            if bound > end:  # noqa: PLR1730 (a call would cost more than the rest)
                end = bound
        elif bound > start:
            start = bound
    return start, end


class Option(NamedTuple):
    """One way to do a work: by which crew, in how many slots, in which open ones.

    ``binds`` are the links into the work whose waits are counted in this crew's working time.
    """

    crew: str
    slots: int
    calendar: Calendar
    binds: tuple[Bind, ...] = ()

    @property
    def pulls(self) -> tuple[Pull, ...]:
        """What its links make of it."""
        return tuple(bind.pull for bind in self.binds)


def distinct(options: tuple[Option, ...]) -> tuple[Option, ...]:
    """Return options without those that differ from one before in nothing but the crew."""
    found: dict[tuple[int, int, int], Option] = {}
    if len(options) == 1:
        return options
    for option in options:
        found.setdefault((option.slots, id(option.calendar), id(option.binds)), option)
    return options if len(found) == len(options) else tuple(found.values())
