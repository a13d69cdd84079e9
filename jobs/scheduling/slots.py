"""The slot axis: quarter-day slots on calendar days, tied to the clock on the wall.

Every calendar day, closed ones too, has the same positions (one at dawn, four by day, one in the evening
by default); when each begins and ends may differ from day to day (summer hours, sunset). Instants are whole minutes
since the Unix epoch, UTC, so that an elapsed wait is one addition whatever the clocks do.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from jobs.trade.work import Shift

from .errors import BadWorld

if TYPE_CHECKING:
    from collections.abc import Callable
    from zoneinfo import ZoneInfo


class Position(NamedTuple):
    """One slot of the day: its shift, local begin and end, and which half of the day it is in.

    A crew changes jobs only between halves (at lunch).
    """

    shift: Shift
    begin: time
    end: time
    half: int


USUAL_DAY = (
    Position(Shift.DAWN, time(5, 0), time(7, 0), 0),
    Position(Shift.DAY, time(7, 0), time(9, 0), 1),
    Position(Shift.DAY, time(9, 0), time(11, 0), 1),
    Position(Shift.DAY, time(11, 30), time(13, 30), 2),
    Position(Shift.DAY, time(13, 30), time(15, 30), 2),
    Position(Shift.EVENING, time(20, 0), time(23, 0), 3),
)
"""Dawn, four two-hour day slots about a lunch half hour, and one evening; a company may change it."""


SLOT = timedelta(hours=2)
"""Length of a day slot."""


def day_of(starts: time, lunch: int) -> tuple[Position, ...]:
    """Return the usual positions of a day that begins at another time, with another lunch in minutes."""
    dawn, *slots, evening = USUAL_DAY
    found, half = [], len(slots) // 2
    for n, position in enumerate(slots):
        begin = _later(starts, n * SLOT + timedelta(minutes=lunch if n >= half else 0))
        found.append(position._replace(begin=begin, end=_later(begin, SLOT)))
    before = dawn._replace(begin=_later(starts, -SLOT), end=starts)
    return (before, *found, evening)


def _later(moment: time, by: timedelta) -> time:
    return (datetime.combine(date(2000, 1, 1), moment) + by).time()


def instant(moment: datetime) -> int:
    """Whole minutes since the epoch, UTC, of an aware datetime."""
    return int(moment.timestamp()) // 60


@cache
def _every_day(day: int, per_day: int, days: int) -> int:
    """Repeat the bitmap of one day; asked for every work of a plan, so kept."""
    return sum(day << (d * per_day) for d in range(days))


@dataclass(frozen=True, slots=True)
class SlotAxis:
    """Slots over ``days`` calendar days from ``first``, in one time zone.

    Attributes
    ----------
    begin, end
        Instant (UTC minutes) at which each slot begins and ends; strictly rising.
    """

    first: date
    days: int
    zone: ZoneInfo
    positions: tuple[Position, ...]
    begin: tuple[int, ...] = field(repr=False)
    end: tuple[int, ...] = field(repr=False)

    @property
    def per_day(self) -> int:
        """Slots in a day."""
        return len(self.positions)

    @property
    def size(self) -> int:
        """Slots on the whole axis."""
        return len(self.begin)

    def day(self, slot: int) -> date:
        """Local calendar day of a slot."""
        return self.first + timedelta(days=slot // self.per_day)

    def slot(self, day: date, position: int = 0) -> int:
        """Slot number of a position of a local day; may lie off the axis."""
        return (day - self.first).days * self.per_day + position

    def begins(self, slot: int) -> datetime:
        """Aware local datetime at which a slot begins."""
        return self._local(self.begin[slot])

    def ends(self, slot: int) -> datetime:
        """Aware local datetime at which a slot ends."""
        return self._local(self.end[slot])

    def from_instant(self, minute: int) -> int:
        """First slot that begins at or after an instant; ``size`` if none does."""
        return bisect_left(self.begin, minute)

    def until_instant(self, minute: int) -> int:
        """Last slot that ends at or before an instant; -1 if none does."""
        return bisect_right(self.end, minute) - 1

    def day_mask(self, shift: Shift) -> int:
        """Bitmap of the positions of one day that belong to a shift."""
        return sum(1 << i for i, p in enumerate(self.positions) if p.shift is shift)

    def shift_mask(self, shift: Shift) -> int:
        """Bitmap of all slots of one shift."""
        return _every_day(self.day_mask(shift), self.per_day, self.days)

    def _local(self, minute: int) -> datetime:
        return datetime.fromtimestamp(minute * 60, tz=UTC).astimezone(self.zone)


def make_axis(
    first: date,
    days: int,
    zone: ZoneInfo,
    *,
    positions: tuple[Position, ...] = USUAL_DAY,
    evening: Callable[[date], time] | None = None,
    hours: Callable[[date], tuple[Position, ...]] | None = None,
) -> SlotAxis:
    """Lay out an axis.

    Parameters
    ----------
    hours
        Positions of a day with the times of that day (summer hours), their shifts and halves those of
        ``positions``. None leaves every day alike.
    evening
        Local time at which evening work can begin on a day (half an hour after sunset), but not
        before the day slots are over; the evening then keeps its length. None leaves the position's
        own time.

    Raises
    ------
    BadWorld
        If the positions of a day overlap, or do not rise on some day.
    """
    begin: list[int] = []
    end: list[int] = []
    for offset in range(days):
        day = first + timedelta(days=offset)
        for position in hours(day) if hours else positions:
            a, b = _span(day, position, zone, evening)
            if position.shift is Shift.EVENING and evening is not None and end and a < end[-1]:
                a, b = end[-1], b + end[-1] - a
            if end and a < end[-1]:
                raise BadWorld(
                    f"the slots of {day:%d %b %Y} overlap",
                    remedy="let each slot of the day begin after the one before it ends",
                )
            begin.append(a)
            end.append(b)
    return SlotAxis(first, days, zone, positions, tuple(begin), tuple(end))


def _span(
    day: date, position: Position, zone: ZoneInfo, evening: Callable[[date], time] | None
) -> tuple[int, int]:
    begin = datetime.combine(day, position.begin)
    length = datetime.combine(day, position.end) - begin
    if position.shift is Shift.EVENING and evening is not None:
        begin = datetime.combine(day, evening(day))
    start = instant(begin.replace(tzinfo=zone))
    return start, start + int(length.total_seconds()) // 60
