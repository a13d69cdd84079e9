"""Waits: the lag of a link as a monotone function from slot to slot, forward and back.

An event is the begin of a first slot or the end of a last slot. A ``Wait`` says, for the slot of the
forerunner's event, the earliest slot the follower's event may have, and, for links with an *at
most*, the latest. Both only ever rise with the event, so bounds may be pushed forward safely and
each has an inverse for going back. Elapsed time is counted in minutes of UTC: clocks that change and
jobs in two zones need no further care.

A lag of nothing means the same on every clock: the follower's event is not before the other.
Work time is counted in open slots of the follower's calendar that lie between the two events.
Business days are whole days after the day of the event; the follower may come on the business day
after the last of them, so a ticket that runs over Thursday and Friday is good from Monday.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from jobs.trade.work import Clock, Lag, Relation

from .slots import instant

if TYPE_CHECKING:
    from .calendars import Calendar
    from .slots import SlotAxis

SATURDAY = 5
NEAR = 8
"""Slots about a guess in which an event is looked for first."""
DAY_MINUTES = 24 * 60


def minute_of(axis: SlotAxis, slot: int, *, finish: bool) -> int:
    """Instant (UTC minutes) of the event at a slot: its end if ``finish``, else its begin.

    Before the axis the clock is taken to have run as on its first day.
    """
    edge = axis.end if finish else axis.begin
    if slot >= 0:
        return edge[slot]
    days, position = divmod(slot, axis.per_day)
    return edge[position] + days * DAY_MINUTES


def first_from(axis: SlotAxis, minute: int, *, finish: bool) -> int:
    """First slot whose begin (or end) is at or after an instant; ``size`` if none is."""
    return bisect_left(axis.end if finish else axis.begin, minute)


def last_until(axis: SlotAxis, minute: int, *, finish: bool) -> int:
    """Last slot whose begin (or end) is at or before an instant; -1 if none is."""
    return bisect_right(axis.end if finish else axis.begin, minute) - 1


def slower_by(lag: Lag, axis: SlotAxis, event: int) -> int:
    """Minutes by which a wait is longer than usual after an event at a slot."""
    if lag.clock is not Clock.ELAPSED or not lag.slower:
        return 0
    return lag.slower[min(max(event // axis.per_day, 0), len(lag.slower) - 1)]


def business_day(day: date, count: int, holidays: frozenset[date]) -> date:
    """Return the ``count``-th business day after a day, or before it if ``count`` is negative."""
    step = timedelta(days=1 if count > 0 else -1)
    left = abs(count)
    while left:
        day += step
        left -= day.weekday() < SATURDAY and day not in holidays
    return day


@dataclass(frozen=True, slots=True)
class Wait:
    """A lag made ready for one pair of axes, one relation and one follower's calendar.

    Attributes
    ----------
    before, after
        Axes of the forerunner's and the follower's job; the same object within one zone.
    calendar
        Open slots of the follower, read by lags in work time.
    holidays
        Days that are not business days besides Saturdays and Sundays.
    """

    lag: Lag
    relation: Relation
    before: SlotAxis
    after: SlotAxis
    calendar: Calendar
    holidays: frozenset[date] = frozenset()

    def earliest(self, event: int) -> int:
        """Return the earliest slot of the follower's bound event; ``size`` if it falls off the axis.

        Parameters
        ----------
        event
            Slot of the forerunner's event: its last slot worked for links from a finish, else its
            first. The answer is likewise a last slot for links to a finish; it need not be open.
        """
        if event >= self.before.size:
            return self.after.size
        if self.lag.clock is Clock.WORK and self.lag.amount:
            return self._work(event)
        if self.lag.clock is Clock.BUSINESS and self.lag.amount:
            minute = self._business(event)
        else:
            minute = self._minute(event) + self.lag.amount + slower_by(self.lag, self.before, event)
        return first_from(self.after, minute, finish=self.relation.to_finish)

    def latest(self, event: int) -> int:
        """Return the latest slot of the follower's bound event; the last one without an at-most."""
        if self.lag.at_most is None or event >= self.before.size:
            return self.after.size - 1
        minute = self._minute(event) + self.lag.at_most
        return last_until(self.after, minute, finish=self.relation.to_finish)

    def latest_event(self, bound: int) -> int:
        """Return the latest forerunner's event that still lets the follower's be at ``bound``; or -1."""
        size = self.before.size
        if 0 <= bound < self.after.size and self._plain():
            edge = self.after.end if self.relation.to_finish else self.after.begin
            minute = edge[bound] - self.lag.amount
            return last_until(self.before, minute, finish=self.relation.from_finish)
        guess = 2 * bound - self.earliest(min(max(bound, 0), size - 1))
        low, high = max(guess - NEAR, 0), min(guess + NEAR, size)
        if low >= high or self.earliest(low) > bound or self.earliest(high) <= bound:
            low, high = 0, size
        return bisect_right(range(size), bound, low, high, key=self.earliest) - 1

    def _plain(self) -> bool:
        """Return True if the wait is the same number of minutes after every event."""
        elapsed = self.lag.clock is Clock.ELAPSED or not self.lag.amount
        return elapsed and not (self.lag.clock is Clock.ELAPSED and self.lag.slower)

    def earliest_event(self, bound: int) -> int:
        """Return the earliest forerunner's event that still keeps ``bound`` within the at-most."""
        slots = range(self.before.size)
        return bisect_left(slots, bound, key=self.latest)

    def table(self) -> tuple[int, ...]:
        """Return ``earliest`` of every slot of the forerunner's axis, for loops that look it up."""
        return tuple(map(self.earliest, range(self.before.size)))

    def _minute(self, event: int) -> int:
        return minute_of(self.before, event, finish=self.relation.from_finish)

    def _work(self, event: int) -> int:
        minute = self._minute(event)
        place = self.calendar.before(first_from(self.after, minute, finish=False)) + self.lag.amount
        found = self.calendar.nth(place - self.relation.to_finish)
        return max(found, 0)

    def _business(self, event: int) -> int:
        full = self.lag.amount + (self.lag.amount > 0)
        day = business_day(self.before.day(event), full, self.holidays)
        return instant(datetime.combine(day, time(), tzinfo=self.before.zone))
