"""Rows of the sequence sheet: a work with its block, its wait and its words; a stage with what weather may take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .layout import (
    BLOCK,
    LEAST_BLOCK,
    LEFT,
    MARGIN,
    ROW,
    SMALL,
    TITLE,
    WIDTH,
)
from .marks import (
    Box,
    Buffer,
    Label,
    Line,
    Row,
    StageLine,
    StageRow,
    Tail,
)
from .text import day_text, shortened, text_width

if TYPE_CHECKING:
    from datetime import date

    from .scale import DayScale


def stage_row(stage: StageLine, y: int, scale: DayScale, today: date | None) -> StageRow:
    """A frame from the planned end of a stage to its safe one, ticks in it, and its words behind."""
    x, likely, safe = (scale.x(it) for it in (stage.planned, stage.likely, stage.safe))
    frame = Buffer(x, y + 3, max(LEAST_BLOCK, safe - x), likely, safe)
    dates = f"planned {day_text(stage.planned, today)}, safe {day_text(stage.safe, today)}"
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


def line_row(line: Line, y: int, scale: DayScale, today: date | None) -> Row:
    """Return the row of a work whose top is at ``y``."""
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
        told=_told(line, today),
        band=Box(MARGIN, y, WIDTH - 2 * MARGIN, ROW),
        done=_done(line, block),
        tail=tail,
        beside=_beside(line, block, tail, scale),
    )


def _told(line: Line, today: date | None) -> str:
    """Everything the row shows, in one sentence for those who do not see it."""
    words = [f"{line.title}: {day_text(line.start, today)} to {day_text(line.finish, today)}"]
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
