"""Reads the trade library from its files and records which version was loaded."""

from __future__ import annotations

import hashlib
import tomllib
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from jobs import models
from jobs.trade.errors import Fault, LibraryError
from jobs.trade.loading import build_library

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.trade.library import Library

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "trade"
DIGITS = 12


class Summary(NamedTuple):
    """What was loaded, in counts, and whether its version is new here."""

    version: str
    templates: int
    rules: int
    waits: int
    crews: int
    machines: int
    assemblies: int
    notices: int
    sources: int
    new: bool


@cache
def current_library() -> Library:
    """Return the library that comes with the program, read once per process.

    Raises
    ------
    LibraryError
        With every fault of its files.
    """
    return read_library(FOLDER)


def load_library(folder: Path | None = None) -> Summary:
    """Check the library in a folder (its own by default) and record its version.

    Raises
    ------
    LibraryError
        With every fault of its files; nothing is recorded then.
    """
    library = read_library(folder or FOLDER)
    _, new = models.LibraryVersion.objects.get_or_create(
        version=library.version,
        defaults={"templates": len(library.templates), "rules": len(library.rules)},
    )
    return Summary(
        version=library.version,
        templates=len(library.templates),
        rules=len(library.rules),
        waits=len(library.waits),
        crews=len(library.crews),
        machines=len(library.machines),
        assemblies=len(library.assemblies),
        notices=len(library.notices),
        sources=len(library.sources),
        new=new,
    )


def read_library(folder: Path) -> Library:
    """Read the library of a folder; its version is a digest of the bytes of its files.

    Raises
    ------
    LibraryError
        If there are no files, one is not readable, or anything in them is wrong.
    """
    paths = sorted(folder.glob("*.toml"))
    if not paths:
        fault = Fault(str(folder), "holds no library files", "name a folder of .toml files")
        raise LibraryError((fault,))
    digest = hashlib.sha256()
    tables: dict[str, Mapping[str, Any]] = {}
    faults: list[Fault] = []
    for path in paths:
        content = path.read_bytes()
        digest.update(path.name.encode() + b"\0" + content + b"\0")
        try:
            tables[path.name] = tomllib.loads(content.decode(), parse_float=Decimal)
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            remedy = "mend the quoting, the brackets or the encoding there"
            faults.append(Fault(path.name, f"is not readable as TOML ({error})", remedy))
    if faults:
        raise LibraryError(tuple(faults))
    return build_library(tables, digest.hexdigest()[:DIGITS])
