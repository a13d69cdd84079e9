"""Where work of so many slots fits into a calendar, soonest or latest, nothing else considered."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .calendars import Calendar


def first_fit(
    calendar: Calendar, slots: int, start: int, end: int = 0, day: int = 0
) -> tuple[int, int]:
    """Return the first place of some slots that starts and ends no earlier than told.

    Parameters
    ----------
    day
        Slots in a day, for work that must begin and end on one; 0 for all other.

    Returns
    -------
    tuple of int
        First and last slot; ``size`` twice if there is none.
    """
    opened, rank, size = calendar.open, calendar.rank, calendar.size
    if start >= size or end >= size:
        return size, size
    place = rank[start] if start > 0 else 0
    if end > 0 and rank[end] - slots >= place:
        place = rank[end] - slots + 1
    while place + slots <= len(opened):
        first, last = opened[place], opened[place + slots - 1]
        if not day or first // day == last // day:
            return first, last
        place += 1
    return size, size


def last_fit(calendar: Calendar, slots: int, start: int, end: int, day: int = 0) -> tuple[int, int]:
    """Return the last place of some slots that starts and ends no later than told; or -1 twice."""
    opened = calendar.open
    place = min(calendar.before(start + 1) - 1, calendar.before(end + 1) - slots)
    while place >= 0:
        first, last = opened[place], opened[place + slots - 1]
        if not day or first // day == last // day:
            return first, last
        place -= 1
    return -1, -1
