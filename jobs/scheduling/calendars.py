"""Working calendars: which slots are open, where work that starts here ends, and back again.

A calendar is made once of a bitmap of open slots and then answers by look-up. It keeps two lists: the
open slots in order, and for each slot how many open ones lie before it. Work of ``n`` slots that
starts at an open slot ends at the open slot ``n - 1`` places further on: one addition, two look-ups.
Slots beyond the axis are answered with ``size`` (never) going forward and -1 going back.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from itertools import accumulate, compress
from typing import TYPE_CHECKING

from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from .result import Placement
    from .slots import SlotAxis
    from .world import Work, World


NUMBERS = tuple(range(8192))
"""Shared by all calendars of less than so many slots: their own copies would fill the caches."""
ONES = bytes.maketrans(b"01", bytes((0, 1)))
"""Turns the digits 0 and 1 into the numbers 0 and 1."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """The open slots of somebody or something on an axis of ``size`` slots.

    Attributes
    ----------
    open
        The open slots, rising.
    rank
        For each slot of the axis, and the one past its end, how many open slots lie before it:
        the place in ``open`` of the next open slot.
    """

    bits: int
    size: int
    open: tuple[int, ...] = field(init=False, repr=False)
    rank: tuple[int, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Read the bitmap once."""
        end = 1 << self.size
        digits = f"{self.bits & (end - 1) | end:b}"[:0:-1]
        marks = digits.encode().translate(ONES)
        numbers = NUMBERS if self.size < len(NUMBERS) else range(self.size + 1)
        ranks = map(numbers.__getitem__, accumulate(marks, initial=0))
        object.__setattr__(self, "open", tuple(compress(numbers, marks)))
        object.__setattr__(self, "rank", tuple(ranks))

    def before(self, slot: int) -> int:
        """How many open slots lie before a slot; the slot may lie off the axis."""
        return self.rank[min(max(slot, 0), self.size)]

    def nth(self, place: int) -> int:
        """Open slot number ``place``, the first being 0; ``size`` or -1 off the ends."""
        if place < 0:
            return -1
        return self.open[place] if place < len(self.open) else self.size

    def at_or_before(self, slot: int) -> int:
        """Last open slot up to a slot; -1 if there is none."""
        return self.nth(self.before(slot + 1) - 1)

    def end(self, start: int, slots: int) -> int:
        """Last slot worked by work of ``slots`` slots that may start from ``start`` on."""
        return self.nth(self.before(start) + slots - 1)

    def start(self, end: int, slots: int) -> int:
        """Latest first slot of work of ``slots`` slots whose last slot is ``end`` or earlier."""
        return self.nth(self.before(end + 1) - slots)

    def count(self, first: int, last: int) -> int:
        """Open slots from ``first`` to ``last``, both inclusive; negative if ``last`` is earlier."""
        return self.before(last + 1) - self.before(first)


def usual_week(axis: SlotAxis) -> tuple[int, ...]:
    """Return a working week for ``week_mask``: all day slots from Monday to Friday."""
    day = axis.day_mask(Shift.DAY)
    return (day, day, day, day, day, 0, 0)


def week_mask(axis: SlotAxis, week: Sequence[int], *, closed: Iterable[date] = ()) -> int:
    """Bitmap of open slots of a working week on an axis.

    Parameters
    ----------
    week
        Seven bitmaps of the positions of a day, Monday first.
    closed
        Days off: holidays, time off, days a machine is down.
    """
    shut = set(closed)
    bits = 0
    for offset in range(axis.days):
        day = axis.first + timedelta(days=offset)
        if day not in shut:
            bits |= week[day.weekday()] << (offset * axis.per_day)
    return bits


def days_mask(axis: SlotAxis, first: date, last: date) -> int:
    """Bitmap of every slot of the days from ``first`` to ``last``, both inclusive."""
    low = max(0, axis.slot(first))
    high = min(axis.size, axis.slot(last) + axis.per_day)
    return (1 << high) - (1 << low) if high > low else 0


def work_bits(world: World, work: Work, crew: str = "") -> int:
    """Bitmap of the slots in which a work may be done by a crew, machines left aside.

    Open to the job, of the work's shift, inside its window, and open to the crew with people enough, and to one lent.
    Outside work has no crew and goes by the job's own calendar.
    """
    job = world.jobs[work.job]
    bits = job.open & world.axes[job.zone].shift_mask(work.shift)
    if work.window is not None:
        bits &= work.window
    for held in work.held_by(crew):
        bits &= world.crews[held].open
    return bits & ~work.short.get(crew, 0)


def worked_slots(world: World, work: Work, at: Placement) -> list[int]:
    """Slots worked at a placement, as far as the axis reaches: open to job, crew and every machine unit held."""
    bits = work_bits(world, work, at.crew)
    for machine, unit in at.machines:
        bits &= world.machines[machine].open[unit]
    return [slot for slot in range(max(at.start, 0), at.end + 1) if bits >> slot & 1]
