"""A square code as one path: the template writes the picture, and no style is needed."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import segno

QUIET = 4
"""Empty modules around a code (ISO/IEC 18004)."""


@dataclass(frozen=True, slots=True)
class SquareCode:
    """Side in modules with the quiet border, and the dark modules as an SVG path."""

    side: int
    path: str


def square_code(text: str) -> SquareCode:
    """Return the code of a text, able to lose about a seventh of its modules (level M)."""
    rows = segno.make_qr(text, error="m").matrix
    path = "".join(
        f"M{x + QUIET} {y + QUIET}h{length}v1h-{length}z"
        for y, row in enumerate(rows)
        for x, length in _dark_runs(row)
    )
    return SquareCode(len(rows) + 2 * QUIET, path)


def _dark_runs(row: bytearray) -> list[tuple[int, int]]:
    """Where dark stretches begin and how long they are."""
    runs, at = [], 0
    for dark, modules in groupby(row):
        length = len(list(modules))
        if dark:
            runs.append((at, length))
        at += length
    return runs
