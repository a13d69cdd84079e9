"""Reads a job file: a whole yard in one TOML file, in words; every fault named by line and key.

The format is documented in the README. Reading checks form only (tables, keys, types, names that must
refer to something in the file); whether the library knows an assembly is the takeoff's question.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from .job_file_keys import AMOUNT, DATES, JOB_KEYS, OPEN_TABLES, RELATIONS, TABLE_KEYS, WAIT_UNITS

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from .job_file_keys import Key

Table = dict[str, Any]


class Fault(NamedTuple):
    """One thing wrong: its line (0 if unknown), the key, what is wrong and what to do."""

    line: int
    key: str
    reason: str
    remedy: str

    def __str__(self) -> str:
        """One line."""
        where = f"line {self.line}, " if self.line else ""
        return f"{where}{self.key}: {self.reason}; {self.remedy}"


class JobFileError(Exception):
    """A job file that cannot be read: all its faults, in order of lines."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__(faults)
        self.faults = faults

    def __str__(self) -> str:
        """The first fault, and how many more there are."""
        more = len(self.faults) - 1
        return f"{self.faults[0]}" + (f" (and {more} more)" if more else "")


@dataclass(frozen=True, slots=True)
class JobFile:
    """What the file says: the job's own keys, and its tables in order, each with its line."""

    job: Table
    tables: Mapping[str, tuple[tuple[int, Table], ...]]
    lines: Mapping[str, int]
    """Of the job's own keys."""

    def rows(self, name: str) -> tuple[tuple[int, Table], ...]:
        """Return the rows of one kind of table with the line each begins at."""
        return self.tables.get(name, ())


def read_job_file(text: str) -> JobFile:
    """Read and check the form of a job file.

    Raises
    ------
    JobFileError
        With every fault found, each with its line, key, reason and remedy.
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # the reader's own, and too deep or too long
        line = re.search(r"line (\d+)", str(error))
        reason = re.sub(r"\s*\(at .*\)", "", str(error)).rstrip(".")
        fault = Fault(
            int(line[1]) if line else 0,
            "file",
            f"this is not readable as TOML ({reason})",
            "mend the quoting or the brackets on that line",
        )
        raise JobFileError((fault,)) from None
    reader = _Reader(_Lines(text), data)
    reader.check()
    if reader.faults:
        raise JobFileError(tuple(sorted(reader.faults)))
    tables = {name: reader.numbered(name) for name in TABLE_KEYS}
    lines = {key: reader.lines.of("", 0, key) for key in JOB_KEYS}
    return JobFile({k: v for k, v in data.items() if k in JOB_KEYS}, tables, lines)


class _Lines:
    """Finds the line of a key, which the TOML reader does not tell."""

    def __init__(self, text: str) -> None:
        self.header: dict[tuple[str, int], int] = {}
        self.key: dict[tuple[str, int, str], int] = {}
        count: dict[str, int] = {}
        table, index = "", 0
        for number, line in enumerate(text.splitlines(), 1):
            if head := re.match(r"\s*\[\[?\s*([\w-]+)\s*\]?\]", line):
                table = head[1]
                index = count[table] = count.get(table, -1) + 1
                self.header[table, index] = number
            elif key := re.match(r"\s*\"?([\w-]+)\"?\s*=", line):
                self.key.setdefault((table, index, key[1]), number)

    def of(self, table: str, index: int, key: str = "") -> int:
        """Line of a key, else of its table's head, else 0."""
        return self.key.get((table, index, key)) or self.header.get((table, index), 0)


class _Reader:
    """Gathers every fault before anything is refused."""

    def __init__(self, lines: _Lines, data: Table) -> None:
        self.lines, self.data = lines, data
        self.faults: list[Fault] = []

    def numbered(self, name: str) -> tuple[tuple[int, Table], ...]:
        rows = self.data.get(name, [])
        return tuple((self.lines.of(name, i), row) for i, row in enumerate(rows))

    def check(self) -> None:
        self._keys("", 0, self.data, JOB_KEYS, extra=frozenset(TABLE_KEYS))
        for name, keys in TABLE_KEYS.items():
            for index, row in enumerate(self._rows(name)):
                self._keys(
                    name, index, row, keys, extra=None if name in OPEN_TABLES else frozenset()
                )
        self._names("zone")
        self._zones_exist()
        self._words()

    def fault(self, table: str, index: int, key: str, reason: str, remedy: str) -> None:
        label = f"{table}.{key}" if table else key
        self.faults.append(Fault(self.lines.of(table, index, key), label, reason, remedy))

    def _rows(self, name: str) -> list[Table]:
        rows = self.data.get(name, [])
        if isinstance(rows, list) and all(isinstance(row, dict) for row in rows):
            return rows
        self.fault("", 0, name, "is not a list of tables", f"write [[{name}]] above each one")
        self.data[name] = []
        return []

    def _keys(
        self,
        table: str,
        index: int,
        row: Table,
        keys: Mapping[str, Key],
        *,
        extra: frozenset[str] | None,
    ) -> None:
        for name, key in keys.items():
            if key.needed and name not in row:
                self.fault(table, index, name, "is missing", f"add {name} = {_example(key.kind)}")
            elif name in row and not _fits(row[name], key.kind):
                told = f"{str(row[name])[:40]!r} does not fit"
                self.fault(table, index, name, told, f"write {_example(key.kind)}")
            elif name in row and (wrong := _beyond(row[name], key)):
                self.fault(table, index, name, *wrong)
        if extra is not None:
            known = sorted({*keys, *extra})
            for name in row.keys() - set(known):
                self.fault(
                    table, index, name, "is not a key known here", f"use one of {', '.join(known)}"
                )

    def _names(self, table: str) -> None:
        seen: set[str] = set()
        for index, row in enumerate(self._rows(table)):
            name = str(row.get("name", "")).casefold()
            if name in seen:
                self.fault(table, index, "name", f"{row['name']!r} stands twice", "name it apart")
            seen.add(name)

    def _zones_exist(self) -> None:
        zones = {str(row.get("name", "")).casefold() for row in self._rows("zone")}
        known = ", ".join(str(row.get("name")) for row in self._rows("zone")) or "none yet"
        asks: tuple[tuple[str, str, Callable[[str], bool]], ...] = (
            ("build", "where", lambda z: z in zones or z == "whole yard"),
            ("passage", "from", lambda z: z in zones or z == "street"),
            ("passage", "to", lambda z: z in zones or z == "whole yard"),
            ("work", "where", lambda z: z in zones or z == "whole yard"),
        )
        for table, key, ok in asks:
            for index, row in enumerate(self._rows(table)):
                name = row.get(key)
                if isinstance(name, str) and not ok(name.casefold()):
                    self.fault(
                        table, index, key, f"there is no zone {name!r}", f"zones are: {known}"
                    )

    def _words(self) -> None:
        for table in ("link", "lift"):
            self._relations(table)
        for index, row in enumerate(self._rows("link")):
            for key in ("wait", "at_most"):
                self._wait(index, key, row.get(key))
        for index, row in enumerate(self._rows("no_work")):
            if _fits(row.get("from"), DATES) and row.get("to", row["from"]) < row["from"]:
                self.fault("no_work", index, "to", "lies before its from", "swap the two dates")

    def _relations(self, table: str) -> None:
        for index, row in enumerate(self._rows(table)):
            relation = row.get("relation", RELATIONS[0])
            if relation not in RELATIONS:
                self.fault(
                    table,
                    index,
                    "relation",
                    f"{relation!r} is unknown",
                    f"use one of {', '.join(RELATIONS)}",
                )

    def _wait(self, index: int, key: str, wait: object) -> None:
        if not isinstance(wait, dict):
            return
        good = len(wait) == 1 and all(
            unit in WAIT_UNITS and isinstance(n, int | float) and not isinstance(n, bool)
            for unit, n in wait.items()
        )
        if not good:
            self.fault(
                "link",
                index,
                key,
                f"{wait} is not a time",
                f"write {{ days = 7 }}, with one of {', '.join(WAIT_UNITS)}",
            )


def _fits(value: object, kind: type | tuple[type, ...]) -> bool:
    if isinstance(value, bool):
        return kind == (bool,)
    if kind == DATES:
        return isinstance(value, date) and not isinstance(value, datetime)
    return isinstance(value, kind)


def _beyond(value: object, key: Key) -> tuple[str, str] | None:
    """Return what is wrong with words too long or a number out of range, and what to write."""
    if isinstance(value, str):
        if len(value) > key.most:
            return f"{value[:20]!r} has {len(value)} letters", f"write {key.most} at the most"
        return None if value.strip() or not key.needed else ("is empty", "write some words")
    if key.kind == AMOUNT or not isinstance(value, int | float):
        return None
    if not key.least <= value <= key.most:
        return f"{value} is out of range", f"write {key.least} to {key.most}"
    return None


def _example(kind: type | tuple[type, ...]) -> str:
    if kind == DATES:
        return "a date like 2026-06-08"
    if kind == (datetime,):
        return "a date and time like 2026-06-08T07:00:00"
    if kind == AMOUNT:
        return 'an amount with its unit like "54 in"'
    if kind == (list,):
        return "a list like [60, 40]"
    if kind == (bool,):
        return "true or false"
    if kind == (dict,):
        return "a table like { days = 7 }"
    return (
        "a number" if int in (kind if isinstance(kind, tuple) else (kind,)) else "words in quotes"
    )
