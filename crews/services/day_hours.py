"""When the day of everybody, or of a crew, begins on a date: seasons, weekdays, crews."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from crews.models import DayHours

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

DECEMBER, DECEMBER_DAYS = 12, 31
USUAL_START, USUAL_LUNCH = time(7, 0), 30


class DayTimes(NamedTuple):
    """When a day begins, and the minutes of its lunch."""

    starts: time = USUAL_START
    lunch: int = USUAL_LUNCH


@dataclass(frozen=True)
class HoursBook:
    """All that is told of the hours of days, narrowest last."""

    rows: tuple[DayHours, ...] = ()

    def on(self, day: date) -> DayTimes:
        """Return everybody's day."""
        row = next((row for row in self._everybody if _holds(row, day)), None)
        return DayTimes(row.starts, row.lunch) if row else DayTimes()

    def starts(self, crew: str, day: date) -> time:
        """Return when a crew's day begins, by its slug."""
        rows = self._crews.get(crew, ())
        row = next((row for row in rows if _holds(row, day)), None)
        return row.starts if row else self.on(day).starts

    def shift(self, crew: str, day: date) -> int:
        """Minutes by which a crew begins later than everybody on a day; less than none for earlier."""
        if crew not in self._crews:
            return 0
        own, usual = (
            datetime.combine(day, at) for at in (self.starts(crew, day), self.on(day).starts)
        )
        return int((own - usual).total_seconds()) // 60

    def shifts(self, crew: str) -> tuple[int, int]:
        """Least and most minutes by which a crew may begin later than everybody, whatever the day."""
        own = [_minutes(row.starts) for row in self._crews.get(crew, ())]
        if not own:
            return 0, 0
        usual = [_minutes(row.starts) for row in self._everybody] or [_minutes(USUAL_START)]
        return min(0, min(own) - max(usual)), max(0, max(own) - min(usual))

    @cached_property
    def _everybody(self) -> tuple[DayHours, ...]:
        return tuple(row for row in reversed(self.rows) if row.crew_id is None)

    @cached_property
    def _crews(self) -> Mapping[str, tuple[DayHours, ...]]:
        found: dict[str, tuple[DayHours, ...]] = {}
        for row in reversed(self.rows):
            if row.crew is not None:
                found[row.crew.slug] = (*found.get(row.crew.slug, ()), row)
        return found


def read_book() -> HoursBook:
    """Read all hours, one query."""
    return book_of(DayHours.objects.select_related("crew").order_by("pk"))


def book_of(rows: Iterable[DayHours]) -> HoursBook:
    """Put rows in order: those of the whole year first, then seasons, older ones first."""
    return HoursBook(tuple(sorted(rows, key=lambda row: row.first_month is not None)))


def _holds(row: DayHours, day: date) -> bool:
    """Return True if a row holds for a day; a season may run over the end of the year."""
    if not row.weekdays >> day.weekday() & 1:
        return False
    if row.first_month is None:
        return True
    first = (row.first_month, row.first_day or 1)
    last = (row.last_month or DECEMBER, row.last_day or DECEMBER_DAYS)
    here = (day.month, day.day)
    return first <= here <= last if first <= last else here >= first or here <= last


def _minutes(at: time) -> int:
    return at.hour * 60 + at.minute
