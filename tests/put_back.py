"""States of the database that many tests start from: built once in a process, then put back by rows.

The first test of a process that asks for a state has it built by the services everybody uses. Where all
rows are as they were then, the rows that these wrote are put back, keys and all; from anything else they
build anew, and on PostgreSQL and outside a transaction always.
"""

from __future__ import annotations

import hashlib
from functools import wraps
from typing import TYPE_CHECKING, Any, NamedTuple

from django.db import connection, transaction

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.db.models import Model

Rows = dict[str, list[tuple[Any, ...]]]
KEYS = "sqlite_sequence"
"""Where SQLite keeps the last key it gave out in each table."""


class Change(NamedTuple):
    """Rows that building took away and wrote, by table, and the row it returned."""

    gone: Rows
    new: Rows
    table: type[Model]
    key: int


def put_back(build: Callable[[], Model]) -> Callable[[], Any]:
    """Decorate what builds a state by services, without arguments, and returns a row of it."""
    known: dict[bytes, Change] = {}

    @wraps(build)
    def built() -> Model:
        if connection.vendor != "sqlite" or not connection.in_atomic_block:
            return build()
        before = _rows()
        digest = hashlib.sha256(repr(before).encode()).digest()
        if digest not in known:
            known[digest] = _changed_by(build, before)
        change = known[digest]
        _apply(change)
        return change.table._base_manager.get(pk=change.key)

    return built


def _rows() -> Rows:
    raw = connection.connection
    tables = [
        name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
    ]
    return {
        table: raw.execute(f'SELECT rowid, * FROM "{table}"').fetchall()  # noqa: S608 (our own tables)
        for table in tables
    }


def _changed_by(build: Callable[[], Model], before: Rows) -> Change:
    """Build, see what that changed, and undo it: what follows always stands on rows put back."""
    with transaction.atomic():
        row = build()
        after = _rows()
        transaction.set_rollback(True)
    return Change(_less(before, after), _less(after, before), type(row), row.pk)


def _less(rows: Rows, others: Rows) -> Rows:
    there = {table: set(found) for table, found in others.items()}
    left = {table: [row for row in rows[table] if row not in there[table]] for table in rows}
    return {table: found for table, found in left.items() if found and table != KEYS}


def _apply(change: Change) -> None:
    """Take rows out and put rows in; what they point at is checked when the transaction ends."""
    raw = connection.connection
    for table, rows in change.gone.items():
        raw.executemany(f'DELETE FROM "{table}" WHERE rowid = ?', [row[:1] for row in rows])  # noqa: S608
    for table, rows in change.new.items():
        places = ", ".join("?" * (len(rows[0]) - 1))
        raw.executemany(f'INSERT INTO "{table}" VALUES ({places})', [row[1:] for row in rows])  # noqa: S608
