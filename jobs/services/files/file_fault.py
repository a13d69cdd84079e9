"""A fault in a file somebody gave us: where it is, and what was expected there."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


class FileFaultError(Exception):
    """File, line (0 if it has none), what was expected and what was found."""

    def __init__(self, path: Path, line: int, expected: str, found: str) -> None:
        super().__init__(path, line, expected, found)
        self.path, self.line, self.expected, self.found = path, line, expected, found

    def __str__(self) -> str:
        """One line."""
        where = f"{self.path}, line {self.line}" if self.line else str(self.path)
        return f"{where}: expected {self.expected}; found {self.found[:120]}"
