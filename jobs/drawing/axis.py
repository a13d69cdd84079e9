"""What stands along the sequence sheet: months and days above it, milestones and their words below."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .layout import (
    HEAD,
    MARGIN,
    SMALL,
    WIDTH,
)
from .marks import (
    DayMark,
    Flag,
    Label,
    Line,
)
from .text import month_text, text_width

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from .scale import DayScale

LETTERS = "MTWTFSS"
NUMBERED_FROM = 19
"""Day columns at least this wide carry a number each; narrower ones only on Mondays."""


def milestone_flags(lines: Iterable[Line], scale: DayScale, bottom: int) -> Iterator[Flag]:
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


MONTH_ROOM = 84
"""Width the longest name of a month takes, with a gap."""


def month_names(scale: DayScale, today: date | None) -> Iterator[Label]:
    """Name each month where it begins, with its year where that is not today's; one whose name would run into the next one's is left out."""
    begins = [c for c in scale.columns if c.day.day == 1 or c is scale.columns[0]]
    ends = [*(column.x for column in begins[1:]), scale.right]
    for column, end in zip(begins, ends, strict=True):
        if end - column.x >= MONTH_ROOM:
            yield Label(column.x + 3, HEAD - 46, month_text(column.day, today))


def day_marks(scale: DayScale) -> Iterator[DayMark]:
    """Mark Mondays with their number, and every open day where there is room for one."""
    every = scale.day_width >= NUMBERED_FROM
    for column in scale.columns:
        monday = column.day.weekday() == 0
        if not (monday or (every and not column.closed)):
            continue
        letter = LETTERS[column.day.weekday()] if every else ""
        yield DayMark(column.x + scale.day_width // 2, letter, str(column.day.day), column.day)
