"""Builds the trade library from plain mappings, one per file, and names everything wrong with them.

A file holds sections (``template``, ``rule``, ``wait`` ...), a section holds rows by key. Any file may
hold any section; a key may stand once only among all files.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from .errors import Fault, LibraryError, TradeError
from .library import Library
from .loading_checks import check_references
from .loading_tables import KINDS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from .loading_tables import Kind

    Rows = dict[str, dict[str, Any]]
    Homes = dict[tuple[str, str], str]

__all__ = ["build_library"]


def build_library(tables: Mapping[str, Mapping[str, Any]], version: str) -> Library:
    """Build and check the library.

    Parameters
    ----------
    tables
        By file name, what its TOML says.
    version
        What it is known as afterwards.

    Raises
    ------
    LibraryError
        With every fault found: file and key, what is wrong and what to do about it.
    """
    faults: list[Fault] = []
    rows, homes = _read(tables, faults)
    faults += check_references(rows, homes)
    if faults:
        raise LibraryError(tuple(sorted(faults)))
    return _library(rows, version)


def _read(tables: Mapping[str, Mapping[str, Any]], faults: list[Fault]) -> tuple[Rows, Homes]:
    """Return rows by section and key, and the file each key stands in, faulty rows included."""
    rows: Rows = {section: {} for section in KINDS}
    homes: Homes = {}
    for file, section, key, row in _told(tables, faults):
        where = f"{file}: {section}.{key}"
        if (section, key) in homes:
            first = homes[section, key]
            faults.append(Fault(where, f"stands in {first} too", "keep it in one file"))
            continue
        homes[section, key] = file
        built = _row(KINDS[section], key, row, where, faults)
        if built is not None:
            rows[section][key] = built
    return rows, homes


def _told(
    tables: Mapping[str, Mapping[str, Any]], faults: list[Fault]
) -> Iterator[tuple[str, str, str, object]]:
    """Every row of every file: file, section, key, and what it says."""
    for file, sections in tables.items():
        for section, told in sections.items():
            if section not in KINDS:
                known = f"use one of {', '.join(KINDS)}"
                faults.append(Fault(f"{file}: {section}", "is not a section known here", known))
            elif not isinstance(told, dict):
                remedy = f"write [{section}.key] above each row"
                faults.append(Fault(f"{file}: {section}", "is not a table of rows", remedy))
            else:
                yield from ((file, section, key, row) for key, row in told.items())


def _row(kind: Kind, key: str, row: object, where: str, faults: list[Fault]) -> Any:
    """Return a row as its dataclass, None if something is wrong with it."""
    before = len(faults)
    if not isinstance(row, dict):
        faults.append(Fault(where, "is not a table", f"give {', '.join(kind.needed)}"))
        return None
    for name in sorted(row.keys() - kind.readers.keys()):
        known = f"use one of {', '.join(kind.readers)}"
        faults.append(Fault(f"{where}.{name}", "is not a key known here", known))
    faults += [
        Fault(f"{where}.{name}", "is missing", f"add {name} = ...")
        for name in kind.needed
        if name not in row
    ]
    values = dict(kind.absent) | ({kind.key: key} if kind.key else {})
    for name, value in row.items():
        if name in kind.readers:
            try:
                values[name] = kind.readers[name](value)
            except TradeError as error:
                faults.append(Fault(f"{where}.{name}", error.reason, error.remedy))
    return None if len(faults) > before else _built(kind, values, where, faults)


def _built(kind: Kind, values: Mapping[str, object], where: str, faults: list[Fault]) -> Any:
    try:
        return kind.build(**values)
    except TradeError as error:
        faults.append(Fault(where, error.reason, error.remedy))
        return None


def _library(rows: Rows, version: str) -> Library:
    by_key = {section: MappingProxyType(found) for section, found in rows.items()}
    return Library(
        version=version,
        templates=by_key["template"],
        crews=by_key["crew"],
        machines=by_key["machine"],
        waits=by_key["wait"],
        rules=tuple(rows["rule"].values()),
        weather=by_key["weather"],
        assemblies=by_key["assembly"],
        cautions=by_key["caution"],
        notices=by_key["notice"],
        sources=by_key["source"],
        dryout=by_key["dryout"],
        soils=by_key["soil"],
        trees=by_key["tree"],
        carriers=by_key["carrier"],
        loads=by_key["load"],
        placings=by_key["placing"],
        covers=by_key["cover"],
        gates=tuple(sorted(rows["gate"].values(), key=lambda gate: gate.width)),
    )
