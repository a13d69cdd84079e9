"""Days to x: working days are columns, weekends and days off narrow folds."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

DAY_BEGINS = time(7, 0)
WORKING_MINUTES = 510
FOLD = 6
"""Width of a closed day, in units of the drawing (pixels at full size)."""
NARROWEST, WIDEST = 5, 34


class Column(NamedTuple):
    """One calendar day: where it begins, how wide it is, whether nobody works."""

    day: date
    x: int
    width: int
    closed: bool


@dataclass(frozen=True, slots=True)
class DayScale:
    """Calendar days from ``first`` to ``last`` laid out from ``left``.

    ``closed`` are the days on which nobody works; a stretch of them is drawn as one fold.
    """

    first: date
    last: date
    left: int
    width: int
    closed: frozenset[date]
    columns: tuple[Column, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Share the width among the working days, after the folds have taken theirs."""
        days = [self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1)]
        shut = sum(day in self.closed for day in days)
        room = self.width - shut * self.fold(len(days))
        each = max(NARROWEST, min(WIDEST, room // max(1, len(days) - shut)))
        columns, x = [], self.left
        for day in days:
            wide = self.fold(len(days)) if day in self.closed else each
            columns.append(Column(day, x, wide, day in self.closed))
            x += wide
        object.__setattr__(self, "columns", tuple(columns))

    @staticmethod
    def fold(days: int) -> int:
        """Width of a closed day: narrower on sheets of many months."""
        return FOLD if days < 90 else FOLD // 2  # noqa: PLR2004 (about three months fill a sheet)

    @property
    def right(self) -> int:
        """Where the last day ends."""
        return self.columns[-1].x + self.columns[-1].width

    @property
    def day_width(self) -> int:
        """Width of a working day."""
        return max(column.width for column in self.columns)

    def x(self, moment: datetime) -> int:
        """Place of a local moment; before the first day the left edge, after the last the right."""
        day = moment.date()
        if day < self.first:
            return self.left
        if day > self.last:
            return self.right
        column = self.columns[(day - self.first).days]
        return column.x + column.width * _worked(moment.time()) // WORKING_MINUTES

    def folds(self) -> list[tuple[int, int]]:
        """Begin and width of each stretch of closed days."""
        out: list[tuple[int, int]] = []
        for column in self.columns:
            if not column.closed:
                continue
            if out and out[-1][0] + out[-1][1] == column.x:
                out[-1] = (out[-1][0], out[-1][1] + column.width)
            else:
                out.append((column.x, column.width))
        return out


def _worked(clock: time) -> int:
    """Minutes of the usual working day that have passed, held between its ends."""
    minutes = (clock.hour - DAY_BEGINS.hour) * 60 + clock.minute - DAY_BEGINS.minute
    return max(0, min(WORKING_MINUTES, minutes))
