"""The sequence sheet: activities in time, grouped, with waits, the keel-line and the homeowner's flags.

Everything is placed in whole units of a picture ``WIDTH`` wide; the template only writes it out.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from .marks import (
    Box,
    Buffer,
    DayMark,
    Flag,
    Heading,
    Keel,
    Label,
    Line,
    OddsLine,
    Part,
    Row,
    Sheet,
    StageLine,
    StageRow,
    Tail,
)
from .scale import DayScale
from .text import shortened, text_width

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import date, datetime

WIDTH = 1400
LEFT = 268
MARGIN = 16
HEAD = 84
ROW, BLOCK = 27, 15
GROUP = 30
FOOT = 92
TITLE, SMALL = 13, 11
KEEL_DROP = 4
BUFFERS = "What the weather may take"
LEAST_BLOCK = 3
LETTERS = "MTWTFSS"
NUMBERED_FROM = 19
"""Day columns at least this wide carry a number each; narrower ones only on Mondays."""


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
        The local moment of the plumb line; None for none.
    opened
        Id of the line whose story lies open: the sheet is cut in two under it.
    odds
        The odds of the finish and the buffers after the stages, which stand in rows of their own under
        all work; None where nothing is said.
    """
    scale = _scale(lines, closed, odds)
    stages = odds.stages if odds else ()
    laid = _lay_out(lines)
    rows = {line.id: _row(line, y, scale) for line, y in laid.places}
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
        months=tuple(_months(scale)),
        days=tuple(_days(scale)),
        weeks=tuple(c.x for c in scale.columns if c.day.weekday() == 0),
        folds=tuple(Box(x, HEAD - 10, wide, bottom - HEAD + 10) for x, wide in scale.folds()),
        keel=_keels(rows, chain),
        flags=tuple(_flags(lines, scale, bottom)),
        base=bottom + 34,
        today=None if today is None else _today(scale, today),
        buffer=None if odds is None else _buffer(lines, odds, scale, bottom + 34),
        stages=tuple(
            _stage(stage, under + ROW * number, scale) for number, stage in enumerate(stages)
        ),
        stages_heading=_heading(BUFFERS, laid.bottom) if stages else None,
    )


@dataclass(frozen=True, slots=True)
class _Laid:
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


def _lay_out(lines: Sequence[Line]) -> _Laid:
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
    return _Laid(tuple(places), tuple(headings), y)


def _heading(words: str, y: int) -> Heading:
    return Heading(words, MARGIN, y + 20, y + 26)


def _stage(stage: StageLine, y: int, scale: DayScale) -> StageRow:
    """A frame from the planned end of a stage to its safe one, ticks in it, and its words behind."""
    x, likely, safe = (scale.x(it) for it in (stage.planned, stage.likely, stage.safe))
    frame = Buffer(x, y + 3, max(LEAST_BLOCK, safe - x), likely, safe)
    dates = f"planned {_day(stage.planned)}, safe {_day(stage.safe)}"
    room = LEFT - MARGIN - 22
    after, width = x + frame.width + 8, text_width(stage.words, SMALL)
    beside = Label(after, y + 15, stage.words)
    if after + width > WIDTH - MARGIN:
        fits = x - 8 - width >= scale.left
        beside = Label(x - 8 if fits else WIDTH - MARGIN, y + 15, stage.words, "end")
    return StageRow(
        name=Label(MARGIN + 10, y + 12, stage.name),
        note=Label(MARGIN + 10, y + 23, shortened(dates, SMALL, room)),
        told=f"{stage.name}: {dates}; {stage.words}",
        frame=frame,
        beside=beside,
    )


def _day(moment: datetime) -> str:
    return f"{moment:%a} {moment.day} {moment:%b}"


def _row(line: Line, y: int, scale: DayScale) -> Row:
    x = scale.x(line.start)
    wide = max(LEAST_BLOCK, scale.x(line.finish) - x)
    block = Box(x, y + 4, wide, BLOCK)
    tail = _tail(line, block, scale)
    room = LEFT - MARGIN - 22
    return Row(
        id=line.id,
        address=line.address,
        title=Label(MARGIN + 10, y + 12, shortened(line.title, TITLE, room, bold=line.critical)),
        note=Label(MARGIN + 10, y + 23, shortened(line.note, SMALL, room)),
        block=block,
        material=line.material,
        critical=line.critical,
        outside=line.outside,
        ended=line.ended,
        told=_told(line),
        band=Box(MARGIN, y, WIDTH - 2 * MARGIN, ROW),
        done=_done(line, block),
        tail=tail,
        beside=_beside(line, block, tail, scale),
    )


def _told(line: Line) -> str:
    """Everything the row shows, in one sentence for those who do not see it."""
    words = [f"{line.title}: {line.start:%a %-d %b} to {line.finish:%a %-d %b}"]
    words += [line.note, line.wait_text, line.slip_text]
    if line.critical:
        words.append("no room to slip")
    if line.ended:
        words.append("done")
    elif line.done:
        words.append(f"{line.done} percent done")
    return "; ".join(word for word in words if word)


def _done(line: Line, block: Box) -> Box | None:
    share = 100 if line.ended else line.done
    return block._replace(width=max(1, block.width * share // 100)) if share else None


def _tail(line: Line, block: Box, scale: DayScale) -> Tail | None:
    if line.wait_until is None:
        return None
    begin, end = block.x + block.width, min(scale.x(line.wait_until), scale.right)
    return Tail(begin, block.y + 2, end - begin, end) if end > begin + 2 else None


def _beside(line: Line, block: Box, tail: Tail | None, scale: DayScale) -> Label | None:
    """Words behind the block, or before it where there is no room behind."""
    if line.ended:
        return None
    text = line.wait_text if tail and line.wait_text else line.slip_text
    if not text:
        return None
    after = (tail.end if tail else block.x + block.width) + 6
    width = text_width(text, SMALL)
    if after + width <= WIDTH - MARGIN:
        return Label(after, block.y + 11, text)
    if block.x - 6 - width >= scale.left:
        return Label(block.x - 6, block.y + 11, text, "end")
    return None


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


def _flags(lines: Iterable[Line], scale: DayScale, bottom: int) -> Iterator[Flag]:
    """Milestones in order; a label that would meet another one stands a line lower.

    Of several with the same words the last one counts. The finish is labelled first; a flag whose
    words then fit nowhere stands without.
    """
    last = {line.milestone: line for line in sorted(lines, key=lambda it: it.finish)}
    shown = sorted((it for it in last.values() if it.milestone), key=lambda it: it.finish)
    taken: list[list[tuple[int, int]]] = [[], [], []]
    labels = {}
    for line in shown[-1:] + shown[:-1]:
        labels[line.milestone] = _label(line.milestone, scale.x(line.finish), bottom, taken)
    for line in shown:
        yield Flag(scale.x(line.finish), bottom + 34, labels[line.milestone], line.ended)


def _label(words: str, x: int, bottom: int, taken: list[list[tuple[int, int]]]) -> Label:
    """Words under a flag at the first depth where they are free to stand; else no words."""
    half = text_width(words, SMALL) // 2 + 4
    middle = min(x, WIDTH - MARGIN - half)
    for depth, spans in enumerate(taken):
        if all(middle + half <= begin or middle - half >= end for begin, end in spans):
            spans.append((middle - half, middle + half))
            return Label(middle, bottom + 50 + 15 * depth, words, "middle")
    return Label(middle, bottom + 50, "", "middle")


def _buffer(lines: Sequence[Line], odds: OddsLine, scale: DayScale, base: int) -> Buffer | None:
    """From the planned finish to the safe one; nothing where the weather takes nothing."""
    x = scale.x(max(line.finish for line in lines))
    likely, safe = scale.x(odds.likely), scale.x(odds.safe)
    return Buffer(x, base - 18, safe - x, likely, safe) if safe > x else None


def _parts(laid: _Laid, rows: dict[str, Row], opened: str, height: int) -> tuple[Part, ...]:
    """One strip, or two with the open row at the end of the first."""
    cut = rows[opened].band.y + ROW if opened in rows else 0
    edges = [0, cut, height] if cut else [0, height]
    return tuple(
        Part(
            y=top,
            height=end - top,
            headings=tuple(h for h in laid.headings if top <= h.y < end),
            rows=tuple(row for row in rows.values() if top <= row.band.y < end),
            head=top == 0,
            foot=end == height,
        )
        for top, end in pairwise(edges)
    )


MONTH_ROOM = 84
"""Width the longest name of a month takes, with a gap."""


def _months(scale: DayScale) -> Iterator[Label]:
    """Name each month where it begins; one whose name would run into the next one's is left out."""
    begins = [c for c in scale.columns if c.day.day == 1 or c is scale.columns[0]]
    ends = [*(column.x for column in begins[1:]), scale.right]
    for column, end in zip(begins, ends, strict=True):
        if end - column.x >= MONTH_ROOM:
            yield Label(column.x + 3, HEAD - 46, f"{column.day:%B}")


def _days(scale: DayScale) -> Iterator[DayMark]:
    every = scale.day_width >= NUMBERED_FROM
    for column in scale.columns:
        monday = column.day.weekday() == 0
        if not (monday or (every and not column.closed)):
            continue
        letter = LETTERS[column.day.weekday()] if every else ""
        yield DayMark(column.x + scale.day_width // 2, letter, str(column.day.day), column.day)


def _today(scale: DayScale, moment: datetime) -> int | None:
    return scale.x(moment) if scale.first <= moment.date() <= scale.last else None
