"""What every table of a portfolio file must have, of which type and size; a fault is told with its line."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .file_fault import FileFaultError

if TYPE_CHECKING:
    from pathlib import Path

SHAPES: dict[str, dict[str, type | tuple[type, ...]]] = {
    "": {
        "start_date": str,
        "slots_per_day": int,
        "slot_start_hours": list,
        "slot_hours": (int, float),
        "horizon_days": int,
        "tardiness_weight": int,
        "days_off": list,
        "crews": list,
        "resources": list,
        "jobs": list,
        "activities": list,
        "relations": list,
    },
    "crews": {"id": str, "week": list, "days_off": list},
    "resources": {"id": str, "capacity": int, "days_off": list},
    "jobs": {
        "id": str,
        "release_day": int,
        "promise_day": int,
        "weight": int,
        "days_off": list,
    },
    "activities": {
        "id": str,
        "job": str,
        "name": str,
        "crews": dict,
        "resources": dict,
        "one_go": bool,
        "not_before_day": int,
    },
    "relations": {"from": str, "to": str, "type": str, "wait_hours": (int, float)},
}
"""What every table must have, and of which type."""
MILLION = 1_000_000
RANGES: dict[str, tuple[float, float]] = {
    "slots_per_day": (1, 24),
    "slot_hours": (0.01, 24),
    "horizon_days": (1, 3660),
    "tardiness_weight": (0, MILLION),
    "capacity": (1, 1000),
    "release_day": (0, MILLION),
    "promise_day": (0, MILLION),
    "weight": (0, MILLION),
    "not_before_day": (0, MILLION),
    "wait_hours": (-MILLION, MILLION),
}
"""Least and most that a number may be."""
NAMES: dict[type | tuple[type, ...], str] = {
    str: "a text",
    int: "a whole number",
    list: "a list",
    dict: "a table",
    bool: "true or false",
    (int, float): "a number",
}


@dataclass(frozen=True, slots=True)
class PortfolioText:
    """The table a file holds, and the lines it was read from."""

    path: Path
    lines: list[str]
    table: Any

    def fault(self, expected: str, found: object, *near: str) -> FileFaultError:
        """Return a fault on the first line that names everything that is near it, one after the other."""
        line = 0 if near else 1
        for name in near:
            quoted = json.dumps(name)
            later = (n for n in range(max(line - 1, 0), len(self.lines)) if quoted in self.lines[n])
            line = next(later, line - 1) + 1
        return FileFaultError(self.path, line, expected, str(found))

    def check(self) -> None:
        """Refuse a file of which a table lacks something, or has it of another type or size."""
        if not isinstance(self.table, dict):
            expected = "a table with crews, resources, jobs, activities"
            raise self.fault(expected, json.dumps(self.table))
        self._shape(self.table, SHAPES[""], ())
        for part, shape in SHAPES.items():
            for n, row in enumerate(self.table[part] if part else ()):
                if not isinstance(row, dict):
                    raise self.fault(f"a table in {part}", row, part)
                near = row.get("id") if isinstance(row.get("id"), str) else None
                self._shape(row, shape, (part, near) if near else (part,), f"{part}[{n}].")
            self._once(part)

    def _once(self, part: str) -> None:
        """Nothing has the name of something else of its kind."""
        if "id" not in SHAPES[part]:
            return
        twice = [name for name, n in Counter(it["id"] for it in self.table[part]).items() if n > 1]
        if twice:
            raise self.fault(f"each id of {part} once", twice[0], part, twice[0], twice[0])

    def _shape(
        self,
        row: dict[str, Any],
        shape: dict[str, type | tuple[type, ...]],
        near: tuple[str, ...],
        where: str = "",
    ) -> None:
        for key, kind in shape.items():
            if key not in row:
                raise self.fault(f"{where}{key}", "nothing", *near)
            value = row[key]
            if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
                raise self.fault(f"{where}{key} to be {NAMES[kind]}", json.dumps(value), *near, key)
            least, most = RANGES.get(key, (0, 0))
            if key in RANGES and not (isinstance(value, int | float) and least <= value <= most):
                expected = f"{where}{key} from {least:,} to {most:,}"
                raise self.fault(expected, json.dumps(value), *near, key)


def read_table(path: Path) -> PortfolioText:
    """Read a file, and check that every table in it has its shape.

    Raises
    ------
    FileFaultError
        With the line and what was expected there.
    """
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FileFaultError(path, 0, "a text file that can be read", str(error)) from error
    try:
        table = json.loads(text)
    except json.JSONDecodeError as error:
        line = text.splitlines()[error.lineno - 1 : error.lineno]
        found = " ".join(line).strip() or "the end of the file"
        raise FileFaultError(path, error.lineno, f"JSON ({error.msg})", found) from error
    told = PortfolioText(path, text.splitlines(), table)
    told.check()
    return told
