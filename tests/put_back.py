"""States of the database that many tests start from: built once in a process, then put back by rows.

The first test of a process that asks for a state has it built by the services everybody uses. Where all
rows are as they were then, the rows that these wrote are put back, keys and all; from anything else, and outside a
transaction, they build anew.
"""

from __future__ import annotations

import hashlib
from functools import wraps
from typing import TYPE_CHECKING, Any, NamedTuple

from django.apps import apps
from django.db import connection, transaction

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from django.db.models import Model

Rows = dict[str, list[tuple[Any, ...]]]
"""Rows by table, each with its key before its columns."""


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
        if not connection.in_atomic_block:
            return build()
        before = _rows()
        digest = hashlib.sha256(repr(before).encode()).digest()
        if digest not in known:
            known[digest] = _changed_by(build, before)
        change = known[digest]
        _apply(change)
        return change.table._base_manager.get(pk=change.key)

    return built


def _keys() -> Iterator[tuple[str, str]]:
    """Every table, with the column that is its key."""
    for model in apps.get_models(include_auto_created=True):
        yield model._meta.db_table, model._meta.pk.column


def _rows() -> Rows:
    """Read past Django: nobody counts these as questions."""
    raw = connection.connection
    asked = ((table, f'SELECT "{key}", * FROM "{table}" ORDER BY 1') for table, key in _keys())  # noqa: S608 (our own tables)
    return {table: raw.execute(question).fetchall() for table, question in asked}


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
    return {table: found for table, found in left.items() if found}


def _apply(change: Change) -> None:
    """Take rows out and put rows in; what they point at is checked when the transaction ends."""
    cursor, keys = connection.connection.cursor(), dict(_keys())
    gap = "?" if connection.vendor == "sqlite" else "%s"
    for table, rows in change.gone.items():
        question = f'DELETE FROM "{table}" WHERE "{keys[table]}" = {gap}'  # noqa: S608
        cursor.executemany(question, [row[:1] for row in rows])
    for table, rows in change.new.items():
        gaps = ", ".join([gap] * (len(rows[0]) - 1))
        cursor.executemany(f'INSERT INTO "{table}" VALUES ({gaps})', [row[1:] for row in rows])  # noqa: S608
