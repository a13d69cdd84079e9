"""Everything kept in one file, and everything back from it, on either database.

A backup is a zip of ``manifest.json`` (what is in it), ``rows.jsonl`` (every row, one a line, as Django
writes them) and ``media/`` (photos). It holds no secret of the machine: addresses on phones go on working
because only their hashes are kept. Sign-ins of browsers are left out, and end.
"""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, TextIO
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile

from django.apps import apps
from django.conf import settings
from django.contrib.admin.models import LogEntry
from django.contrib.sessions.models import Session
from django.core import serializers
from django.core.management.color import no_style
from django.core.serializers.json import DjangoJSONEncoder
from django.db import DatabaseError, connection, transaction
from django.db.migrations.recorder import MigrationRecorder

if TYPE_CHECKING:
    from collections.abc import Iterable

    from django.db.models import Model

FORMAT = 1
APPS = ("crews", "jobs")
"""Whose rows are kept; sessions and Django's own tables are made anew."""
NIGHT = 2
"""Hour of the company's day from which the night's backup is written."""
NIGHTS_KEPT = 14
ROWS, MANIFEST, MEDIA = "rows.jsonl", "manifest.json", "media/"


class Exact(DjangoJSONEncoder):
    """Moments as they are: Django's own encoder cuts them off at the millisecond."""

    def default(self, o: object) -> Any:
        """Return a moment in full, all else as Django writes it."""
        return o.isoformat() if isinstance(o, datetime) else super().default(o)


class BackupError(Exception):
    """A file could not be written or read back; nothing was changed."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What a backup holds."""

    rows: int
    files: int
    made_at: str


def write_backup(file: Path, now: datetime) -> Kept:
    """Write everything into a file, which appears whole or not at all.

    Rows are read in one transaction, so that they belong together while others go on working.

    Raises
    ------
    BackupError
        If the file exists already, or its folder cannot be written to.
    """
    if file.exists():
        raise BackupError(f"{file} is there already: choose another name, or take it away first")
    part = file.with_name(file.name + ".part")
    try:
        with ZipFile(part, "w", ZIP_DEFLATED) as archive:
            counts, digest = _write_rows(archive)
            files = _write_media(archive)
            manifest: dict[str, Any] = {
                "format": FORMAT,
                "made_at": now.isoformat(timespec="seconds"),
                "migrations": _migrations(),
                "rows": counts,
                "sha256": digest,
                "files": files,
            }
            archive.writestr(MANIFEST, json.dumps(manifest, indent=1, sort_keys=True))
        part.chmod(0o600)
        part.replace(file)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise BackupError(f"{file} cannot be written: {error.strerror}") from error
    return Kept(sum(counts.values()), files, manifest["made_at"])


def keep_nightly(now: datetime) -> Path | None:
    """Write the backup of a night once, from ``NIGHT`` on, and let the oldest go; None if it is there."""
    file: Path = settings.BACKUPS / f"yardwright-{now:%Y-%m-%d}.zip"
    if now.hour < NIGHT or file.exists():
        return None
    settings.BACKUPS.mkdir(mode=0o700, parents=True, exist_ok=True)
    write_backup(file, now)
    for old in nightly()[:-NIGHTS_KEPT]:
        old.unlink()
    return file


def nightly() -> list[Path]:
    """Return the nightly backups that are kept, oldest first."""
    return sorted(settings.BACKUPS.glob("yardwright-????-??-??.zip"))


def _tables() -> list[type[Model]]:
    """Return the tables kept, those that others point to first."""
    tables = [(apps.get_app_config(app), None) for app in APPS]
    return list(serializers.sort_dependencies(tables))


@transaction.atomic
def _write_rows(archive: ZipFile) -> tuple[dict[str, int], str]:
    """Write every row; return how many of each table, and the digest of all."""
    counts: dict[str, int] = {}
    digest = sha256()
    with archive.open(ROWS, "w") as out:
        for table in _tables():
            rows = table._base_manager.order_by("pk").iterator(chunk_size=500)  # noqa: SLF001 (Django's documented name)
            count = 0
            for row in rows:
                line = serializers.serialize("jsonl", [row], cls=Exact).encode()
                digest.update(line)
                out.write(line)
                count += 1
            counts[table._meta.label_lower] = count
    return counts, digest.hexdigest()


def _write_media(archive: ZipFile) -> int:
    root = Path(settings.MEDIA_ROOT) if settings.MEDIA_ROOT else None
    if root is None or not root.is_dir():
        return 0
    files = [path for path in sorted(root.rglob("*")) if path.is_file()]
    for path in files:
        archive.write(path, MEDIA + path.relative_to(root).as_posix())
    return len(files)


def _migrations() -> dict[str, list[str]]:
    applied = MigrationRecorder(connection).applied_migrations()
    return {app: sorted(name for label, name in applied if label == app) for app in APPS}


def restore_backup(file: Path, *, over: bool = False) -> Kept:
    """Bring everything back from a file, all of it or nothing.

    Parameters
    ----------
    over
        Let what is in the database now go; without it only an empty one is filled.

    Raises
    ------
    BackupError
        If the file is no whole backup, was made by another version, or the database is in use.
    """
    try:
        with ZipFile(file) as archive:
            manifest = _read_manifest(archive)
            _check_media(archive)
            with tempfile.TemporaryFile("w+", encoding="utf-8") as rows:
                _unpack_rows(archive, manifest, rows)
                _load_rows(rows, manifest, over=over)
            _unpack_media(archive)
    except FileNotFoundError as error:
        raise BackupError(f"There is no file {file}") from error
    except (BadZipFile, KeyError, UnicodeDecodeError) as error:
        raise BackupError(f"{file} is not a backup of Yardwright, or it is damaged") from error
    return Kept(sum(manifest["rows"].values()), manifest["files"], manifest["made_at"])


def _read_manifest(archive: ZipFile) -> dict[str, Any]:
    try:
        manifest: dict[str, Any] = json.loads(archive.read(MANIFEST))
    except ValueError as error:
        raise BackupError("The list of what the backup holds cannot be read") from error
    if manifest["format"] != FORMAT or manifest["migrations"] != _migrations():
        raise BackupError(
            "The backup was made by another version: restore it with that version, then update"
        )
    return manifest


def _unpack_rows(archive: ZipFile, manifest: dict[str, Any], rows: TextIO) -> None:
    digest = sha256()
    with archive.open(ROWS) as packed:
        for line in packed:
            digest.update(line)
            rows.write(line.decode())
    if digest.hexdigest() != manifest["sha256"]:
        raise BackupError("The rows of the backup are not those that were written: it is damaged")


@transaction.atomic
def _load_rows(rows: TextIO, manifest: dict[str, Any], *, over: bool) -> None:
    tables = _tables()
    managers = [table._base_manager for table in tables]  # noqa: SLF001 (Django's documented name)
    if any(manager.exists() for manager in managers) and not over:
        raise BackupError(
            "There is something in this database already: say --over to let it go, or restore elsewhere"
        )
    rows.seek(0)
    try:
        _clear(tables)
        # References are checked when the transaction ends: rows may come in any order.
        for row in serializers.deserialize("jsonl", rows):
            row.save(force_insert=True)
        connection.check_constraints()
    except (serializers.base.DeserializationError, DatabaseError) as error:
        raise BackupError(f"A row of the backup does not fit: {error}") from error
    counts = {table._meta.label_lower: table._base_manager.count() for table in tables}  # noqa: SLF001
    if counts != manifest["rows"]:
        raise BackupError("Not every row came back; nothing was changed")
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), tables):
            cursor.execute(statement)


def _clear(tables: Iterable[type[Model]]) -> None:
    """Let everything go that is in the tables, with what browsers and the support pages noted of it."""
    Session.objects.all().delete()
    LogEntry.objects.all().delete()
    for table in tables:
        for many in table._meta.local_many_to_many:
            through = getattr(table, many.name).through._base_manager  # noqa: SLF001
            through.all()._raw_delete(through.db)  # noqa: SLF001 (cascades would ask row by row)
        rows = table._base_manager  # noqa: SLF001
        rows.all()._raw_delete(rows.db)  # noqa: SLF001


def _inside(name: str) -> Path | None:
    """Return where a packed photo belongs; None for anything that is no photo of ours."""
    path = PurePosixPath(name)
    if not name.startswith(MEDIA) or name.endswith("/"):
        return None
    if path.is_absolute() or ".." in path.parts:
        raise BackupError(f"The backup holds a file that would land outside its folder: {name}")
    return Path(settings.MEDIA_ROOT) / path.relative_to(MEDIA)


def _check_media(archive: ZipFile) -> None:
    for name in archive.namelist():
        _inside(name)


def _unpack_media(archive: ZipFile) -> None:
    for name in archive.namelist():
        if (path := _inside(name)) is not None:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(archive.read(name))
