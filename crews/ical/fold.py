"""Content lines folded at 75 octets, filled, and never inside a letter."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

MOST_OCTETS = 75
"""RFC 5545 3.1: a line is at most 75 octets long, its line break not counted."""
LINE_BREAK = "\r\n"
ESCAPE = "\\"


def fold_lines(lines: Iterable[str]) -> bytes:
    """Return content lines as the octets of a calendar, every one ended by CRLF."""
    return "".join(fold(line) + LINE_BREAK for line in lines).encode()


def fold(line: str) -> str:
    """Fold one content line; each part but the first begins with one blank.

    An escape (a backslash and what it escapes) stays together: that is more than RFC 5545 asks
    for, but readers exist that look for escapes before they unfold.
    """
    if line.isascii() and len(line) <= MOST_OCTETS:
        return line
    parts: list[str] = []
    part, octets = "", 0
    for piece in _pieces(line):
        size = len(piece.encode())
        if octets + size > MOST_OCTETS:
            parts.append(part)
            part, octets = " ", 1
        part += piece
        octets += size
    return LINE_BREAK.join([*parts, part])


def _pieces(line: str) -> Iterable[str]:
    """Letters one by one, but an escape as a whole."""
    escape = ""
    for letter in line:
        if letter == ESCAPE and not escape:
            escape = letter
            continue
        yield escape + letter
        escape = ""
    if escape:
        yield escape
