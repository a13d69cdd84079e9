"""Migrations that can be taken back where tables have rows."""

from __future__ import annotations

import pytest
from django.db.migrations import RemoveField
from django.db.migrations.loader import MigrationLoader
from django.db.models import NOT_PROVIDED


def taken_away():
    """Each column that a migration takes away, as it was before."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    for node in sorted(node for node in loader.disk_migrations if node[0] in {"crews", "jobs"}):
        migration, state = loader.disk_migrations[node], loader.project_state(node, at_end=False)
        for operation in migration.operations:
            if isinstance(operation, RemoveField):
                model = state.models[node[0], operation.model_name_lower]
                yield f"{node[1]}: {operation.name}", model.get_field(operation.name)
            operation.state_forwards(node[0], state)


@pytest.mark.parametrize(("where", "column"), list(taken_away()))
def test_a_column_taken_away_can_be_put_back(where, column):
    """What may be neither empty nor null needs a default, else rows that are there stand in the way."""
    empty = column.blank and column.empty_strings_allowed
    assert column.null or empty or column.default is not NOT_PROVIDED, where
