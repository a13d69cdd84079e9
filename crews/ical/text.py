"""Text that every calendar can take: no control characters, titles on one line."""

from __future__ import annotations

LINE_BREAKS = ("\r\n", "\r", "\x85", "\u2028", "\u2029")
FIRST_PRINTABLE, DELETE, LAST_C1 = 0x20, 0x7F, 0x9F
SURROGATES = range(0xD800, 0xE000)
BYTE_ORDER_MARK = "\ufeff"
"""No letter of any text; some readers take it for the start of another file."""


def plain_text(text: str) -> str:
    """Return text of any number of lines without control characters, trimmed.

    RFC 5545 3.1 allows no control character in a content line but the tab; a tab becomes a blank.
    """
    for mark in LINE_BREAKS:
        text = text.replace(mark, "\n")
    kept = "".join(c for c in text.replace("\t", " ") if c == "\n" or _printable(c))
    return "\n".join(line.rstrip() for line in kept.split("\n")).strip()


def one_line(text: str, *, most: int | None = None) -> str:
    """Return text as one trimmed line with single blanks, cut to at most ``most`` characters."""
    line = " ".join(plain_text(text).split())
    return line if most is None or len(line) <= most else line[: most - 1].rstrip() + "…"


def _printable(character: str) -> bool:
    code = ord(character)
    control = code < FIRST_PRINTABLE or DELETE <= code <= LAST_C1
    return not control and code not in SURROGATES and character != BYTE_ORDER_MARK
