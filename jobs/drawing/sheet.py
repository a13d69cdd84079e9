"""The sequence sheet: activities in time, grouped, with waits, the keel-line and the homeowner's flags.

Everything is placed in whole units of a picture ``WIDTH`` wide; the template only writes it out.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from .axis import day_marks, milestone_flags, month_names
from .layout import (
    BLOCK,
    FOOT,
    GROUP,
    HEAD,
    KEEL_DROP,
    LEFT,
    MARGIN,
    ROW,
    WIDTH,
)
from .lines import line_row, stage_row
from .marks import (
    Box,
    Buffer,
    Heading,
    Keel,
    Line,
    OddsLine,
    Part,
    Row,
    Sheet,
)
from .scale import DayScale

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import date, datetime

BUFFERS = "What the weather may take"
HEADING_DROP = 20
"""From the top of a group to the foot of its heading's letters."""


def draw_sheet(
    lines: Sequence[Line],
    *,
    closed: frozenset[date],
    chain: Sequence[str] = (),
    today: datetime | None = None,
    opened: str = "",
    odds: OddsLine | None = None,
) -> Sheet:
    """Draw the lines in the order given, grouped by their heading.

    Parameters
    ----------
    lines
        At least one; lines of one group stand together.
    closed
        Days on which nobody works.
    chain
        Ids of the critical chain, first to last: the keel-line runs through them.
    today
        The local moment of the plumb line, in whose year days carry none; None for no line, and a year on every day.
    opened
        Id of the line whose story lies open: the sheet is cut under it, too.
    odds
        The odds of the finish and the buffers after the stages, which stand in rows of their own under
        all work; None where nothing is said.
    """
    scale = _scale(lines, closed, odds)
    stages = odds.stages if odds else ()
    laid = _lay_out(lines)
    rows = {line.id: line_row(line, y, scale, today) for line, y in laid.places}
    under = laid.bottom + (GROUP if stages else 0)
    bottom = under + ROW * len(stages) + 8
    return Sheet(
        width=WIDTH,
        height=bottom + FOOT,
        left=LEFT,
        right=scale.right,
        top=HEAD,
        bottom=bottom,
        parts=_parts(laid, rows, opened, bottom + FOOT),
        months=tuple(month_names(scale, today)),
        days=tuple(day_marks(scale)),
        weeks=tuple(c.x for c in scale.columns if c.day.weekday() == 0),
        folds=tuple(Box(x, HEAD - 10, wide, bottom - HEAD + 10) for x, wide in scale.folds()),
        keel=_keels(rows, chain),
        flags=tuple(milestone_flags(lines, scale, bottom)),
        base=bottom + 34,
        today=None if today is None else _today(scale, today),
        buffer=None if odds is None else _buffer(lines, odds, scale, bottom + 34),
        stages=tuple(
            stage_row(stage, under + ROW * number, scale, today)
            for number, stage in enumerate(stages)
        ),
        stages_heading=_heading(BUFFERS, laid.bottom) if stages else None,
    )


@dataclass(frozen=True, slots=True)
class Laid:
    """Heights: each line's top, each heading, and where the rows end."""

    places: tuple[tuple[Line, int], ...]
    headings: tuple[Heading, ...]
    bottom: int


def _scale(
    lines: Sequence[Line],
    closed: frozenset[date],
    odds: OddsLine | None,
) -> DayScale:
    """Whole weeks, from the Monday before the first start to the Sunday after the last end."""
    first = min(line.start for line in lines).date()
    last = max([*(line.finish for line in lines), *([odds.last] if odds else [])]).date()
    return DayScale(
        first - timedelta(days=first.weekday()),
        last + timedelta(days=6 - last.weekday()),
        LEFT,
        WIDTH - LEFT - MARGIN,
        closed,
    )


def _lay_out(lines: Sequence[Line]) -> Laid:
    y, group = HEAD, None
    places: list[tuple[Line, int]] = []
    headings: list[Heading] = []
    for line in lines:
        if line.group != group:
            group = line.group
            headings.append(_heading(group, y))
            y += GROUP
        places.append((line, y))
        y += ROW
    return Laid(tuple(places), tuple(headings), y)


def _heading(words: str, y: int) -> Heading:
    return Heading(words, MARGIN, y + HEADING_DROP, y + 26)


def _keels(rows: Mapping[str, Row], chain: Sequence[str]) -> tuple[Keel, ...]:
    """One line through the chain, and a stretch under all else that has no room."""
    beside = (row for row in rows.values() if row.critical and row.id not in chain)
    return (*_keel([rows[i] for i in chain if i in rows]), *_also(beside))


def _keel(chain: Sequence[Row]) -> Iterator[Keel]:
    """Heavy under each block up to where the next begins; thin from row to row."""
    for index, row in enumerate(chain):
        y = row.block.y + BLOCK + KEEL_DROP - 1
        end = row.block.x + row.block.width
        if index + 1 == len(chain):
            yield Keel(row.block.x, y, end, y, heavy=True)
            return
        following = chain[index + 1].block
        turn = max(row.block.x, following.x)
        yield Keel(row.block.x, y, max(row.block.x + 1, turn), y, heavy=True)
        yield Keel(turn, y, turn, following.y + BLOCK + KEEL_DROP - 1, heavy=False)


def _also(rows: Iterable[Row]) -> Iterator[Keel]:
    """Heavy under work without room that stands beside the chain."""
    for row in rows:
        y = row.block.y + BLOCK + KEEL_DROP - 1
        yield Keel(row.block.x, y, row.block.x + row.block.width, y, heavy=True)


def _buffer(lines: Sequence[Line], odds: OddsLine, scale: DayScale, base: int) -> Buffer | None:
    """From the planned finish to the safe one; nothing where the weather takes nothing."""
    x = scale.x(max(line.finish for line in lines))
    likely, safe = scale.x(odds.likely), scale.x(odds.safe)
    return Buffer(x, base - 18, safe - x, likely, safe) if safe > x else None


def _parts(laid: Laid, rows: dict[str, Row], opened: str, height: int) -> tuple[Part, ...]:
    """A strip for each group and one for the foot, so that paper breaks between them; one more under the open row."""
    cut = rows[opened].band.y + ROW if opened in rows else 0
    groups = [heading.y - HEADING_DROP for heading in laid.headings[1:]]
    edges = sorted({0, *groups, *([cut] if cut else []), laid.bottom, height})
    return tuple(
        Part(
            y=top,
            height=end - top,
            headings=tuple(h for h in laid.headings if top <= h.y < end),
            rows=tuple(row for row in rows.values() if top <= row.band.y < end),
            head=top == 0,
            foot=end == height,
            opened=end == cut,
        )
        for top, end in pairwise(edges)
    )


def _today(scale: DayScale, moment: datetime) -> int | None:
    return scale.x(moment) if scale.first <= moment.date() <= scale.last else None
