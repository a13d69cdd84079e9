"""The sheet's facts as rows of a table, and as a list by day for a phone."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from .marks import MATERIALS

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date, datetime

    from .marks import Line


class TableRow(NamedTuple):
    """One activity in words."""

    id: str
    address: str
    group: str
    title: str
    note: str
    trade: str
    material: str
    start: datetime
    finish: datetime
    wait: str
    room: str
    critical: bool
    done: int
    ended: bool


@dataclass(frozen=True, slots=True)
class Day:
    """What begins on one day."""

    day: date
    rows: tuple[TableRow, ...]


def as_table(lines: Iterable[Line]) -> tuple[TableRow, ...]:
    """Return the lines as table rows, in their order."""
    return tuple(
        TableRow(
            line.id,
            line.address,
            line.group,
            line.title,
            line.note,
            MATERIALS[line.material],
            line.material,
            line.start,
            line.finish,
            line.wait_text,
            "" if line.ended else line.slip_text or ("no room to slip" if line.critical else ""),
            line.critical,
            line.done,
            line.ended,
        )
        for line in lines
    )


def by_day(lines: Iterable[Line]) -> tuple[Day, ...]:
    """Return the lines by the day they begin, earliest first."""
    rows = sorted(as_table(lines), key=lambda row: (row.start, row.title))
    return tuple(
        Day(day, tuple(group)) for day, group in groupby(rows, key=lambda row: row.start.date())
    )
