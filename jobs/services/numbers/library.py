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
from jobs.trade.overrides import Own, fits, with_overrides

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.trade.library import Library

FOLDER = Path(__file__).resolve().parents[3] / "fixtures" / "trade"
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


def library_for(job: models.Job) -> Library:
    """Return the library as a job was last reckoned with: its version, and the figures of one's own
    that were accepted for it. A job that was never reckoned gets the newest.
    """
    if not job.library:
        return newest_for(job)
    library = _version(job.library)
    owns = [Own(path, value) for path, value in job.own]
    return with_overrides(library, [own for own in owns if fits(library, own)])


def newest_for(job: models.Job) -> Library:
    """Return the library that comes with the program, with all figures of one's own for a job."""
    return with_overrides(current_library(), owns_for(job))


def company_library() -> Library:
    """Return the library that comes with the program, with the company's own figures."""
    return with_overrides(current_library(), owns_for(None))


def owns_for(job: models.Job | None) -> list[Own]:
    """Return the figures of one's own that hold for a job: the company's first, then the job's.

    A figure whose place the library no longer has is left out; its page tells it.
    """
    rows = models.Override.objects.filter(job=None)
    if job is not None:
        rows |= models.Override.objects.filter(job=job)
    library = current_library()
    owns = {row.path: row for row in sorted(rows, key=lambda row: (row.job_id is not None, row.pk))}
    told = (Own(row.path, row.value) for row in owns.values())
    return [own for own in told if fits(library, own)]


def has_newer(job: models.Job) -> bool:
    """Return True if the library or one's own figures changed since a job was last reckoned."""
    version = current_library().version
    return job.library != version or _pairs(owns_for(job)) != sorted(map(list, job.own), key=str)


def adopt_newest(job: models.Job) -> Library:
    """Take the newest numbers for a job from now on, and return them."""
    library = current_library()
    keep_version(library, FOLDER)
    job.library, job.own = library.version, _pairs(owns_for(job))
    job.save(update_fields=["library", "own"])
    return library_for(job)


def _pairs(owns: Iterable[Own]) -> list[list[Any]]:
    return sorted(([own.path, own.value] for own in owns), key=str)


def _version(version: str) -> Library:
    """Return a version by its digest; the one that comes with the program where it was not kept."""
    current = current_library()
    if version == current.version:
        return current
    try:
        return _kept(version)
    except (LookupError, LibraryError):
        return current


@cache
def _kept(version: str) -> Library:
    row = models.LibraryVersion.objects.filter(version=version).exclude(files={}).first()
    if row is None:
        raise LookupError(version)
    return build_from({name: text.encode() for name, text in sorted(row.files.items())})


def load_library(folder: Path | None = None) -> Summary:
    """Check the library in a folder (its own by default) and record its version.

    Raises
    ------
    LibraryError
        With every fault of its files; nothing is recorded then.
    """
    library = read_library(folder or FOLDER)
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
        new=keep_version(library, folder or FOLDER),
    )


def keep_version(library: Library, folder: Path) -> bool:
    """Keep a version with the text of its files, for jobs that go on with it; True if it is new."""
    row, new = models.LibraryVersion.objects.get_or_create(
        version=library.version,
        defaults={"templates": len(library.templates), "rules": len(library.rules)},
    )
    if not row.files:
        row.files = {path.name: path.read_text("utf-8") for path in sorted(folder.glob("*.toml"))}
        row.save(update_fields=["files"])
    return new


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
    return build_from({path.name: path.read_bytes() for path in paths})


def build_from(files: Mapping[str, bytes]) -> Library:
    """Build the library of some files by name, in the order given.

    Raises
    ------
    LibraryError
        If one is not readable, or anything in them is wrong.
    """
    digest = hashlib.sha256()
    tables: dict[str, Mapping[str, Any]] = {}
    faults: list[Fault] = []
    for name, content in files.items():
        digest.update(name.encode() + b"\0" + content + b"\0")
        try:
            tables[name] = tomllib.loads(content.decode(), parse_float=Decimal)
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            remedy = "mend the quoting, the brackets or the encoding there"
            faults.append(Fault(name, f"is not readable as TOML ({error})", remedy))
    if faults:
        raise LibraryError(tuple(faults))
    return build_library(tables, digest.hexdigest()[:DIGITS])
