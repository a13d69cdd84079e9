"""A way to do a work: by a crew, with certain machine units, in the slots open to all of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

    from jobs.scheduling.binds import Option
    from jobs.scheduling.calendars import Calendar

Units = tuple[tuple[str, int], ...]


class Halves(NamedTuple):
    """Bitmaps of a crew in a yard: half days it gives to any yard, half days and slots it gives to this one."""

    given: int
    own: int
    slots: int


class Way(NamedTuple):
    """A crew with certain machine units, and the slots open to all of them.

    Attributes
    ----------
    opened, rank
        As in ``Calendar``, with room at their ends so that nothing need be asked there.
    keys
        Bitmaps of what is held alone: the crew on this shift, units that are like no other.
    halves
        Of each crew held; none where halves of days do not matter.
    day
        Slots in a day for work that must begin and end on one; 0 for all other.
    """

    opened: tuple[int, ...]
    rank: tuple[int, ...]
    slots: int
    keys: tuple[int, ...]
    bits: int
    halves: tuple[Halves, ...]
    day: int
    option: Option
    calendar: Calendar
    units: Units

    def place_from(self, start: int, end: int) -> int:
        """Return the number of the first open slot from which the work starts and ends no sooner than told."""
        place, least = self.rank[start], self.rank[end] - self.slots + 1
        return least if end and least > place else place

    def first_free(
        self,
        place: int,
        by: tuple[int, int],
        taken: int,
        onward: Callable[[int], int] | None = None,
    ) -> tuple[int, int] | None:
        """Return the first free place from an open slot on: first and last slot; None if there is none.

        Parameters
        ----------
        place
            Number of the open slot.
        by
            Last start and last end.
        taken
            Slots that are forbidden.
        onward
            Asked of each place that looks free: the same if it is, else the next to try.
        """
        opened, rank, slots, day = self.opened, self.rank, self.slots - 1, self.day
        start_by, end_by = by
        free = None
        while True:
            first, last = opened[place], opened[place + slots]
            if last > end_by or first > start_by:
                return None
            if day and first // day != last // day:
                place += 1
                continue
            clash = taken >> first & (2 << last - first) - 1
            if (
                clash
            ):  # nothing can begin before the last slot in the way, nor in those taken after it
                if free is None:
                    free = self.bits & ~taken
                first += clash.bit_length()
                rest = free >> first
                if not rest:
                    return None
                place = rank[first + (rest & -rest).bit_length() - 1]
            elif onward is None or (following := onward(place)) == place:
                return first, last
            else:
                place = following
