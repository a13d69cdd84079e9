"""How wide a line of text will be, for placing it: a small table of glyph widths, rounded up.

Widths are in hundredths of the type size, taken generously over common sans-serif faces, so that a
label never meets what stands beside it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

NARROW = {**dict.fromkeys("iljI.,:;'|!·", 30), **dict.fromkeys('ftr()[]-/ "', 40)}
WIDE = {**dict.fromkeys("mwMW%@", 95), **dict.fromkeys("ABCDEFGHKLNOPQRSTUVXYZ&", 72)}
USUAL = 60
BOLD = 108
"""Bold letters are about eight hundredths wider."""


def text_width(text: str, size: int, *, bold: bool = False) -> int:
    """Return the width of a line in the units of ``size``, never too little."""
    hundredths = sum(NARROW.get(c) or WIDE.get(c) or USUAL for c in text) * size
    if bold:
        hundredths = hundredths * BOLD // 100
    return -(-hundredths // 100)


def day_text(day: date, today: date | None) -> str:
    """Return ``Thu 12 Jun``, or ``Thu 14 Jan 2027`` where today is in another year or not known."""
    year = "" if today and day.year == today.year else f" {day.year}"
    return f"{day:%a} {day.day} {day:%b}{year}"


def month_text(day: date, today: date | None) -> str:
    """Return ``January``, or ``Jan 2027`` where today is in another year or not known: no wider than a long name."""
    return f"{day:%B}" if today and day.year == today.year else f"{day:%b} {day.year}"


def shortened(text: str, size: int, room: int, *, bold: bool = False) -> str:
    """Return the text, cut at a word with an ellipsis if it is wider than ``room``."""
    if text_width(text, size, bold=bold) <= room:
        return text
    words = text.split(" ")
    while len(words) > 1:
        words.pop()
        cut = " ".join(words).rstrip(",·- ") + " …"
        if text_width(cut, size, bold=bold) <= room:
            return cut
    return text[: max(1, room * 100 // (USUAL * size) - 1)] + "…"
