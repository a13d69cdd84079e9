"""A state of the database that the tests of one file share: made once, never changed, taken back at the end.

Each test works inside a transaction of its own, as always; that one lies within the transaction in which the state was
made. Not for tests that need transactions of their own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.db import transaction

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pytest_django.plugin import DjangoDbBlocker


def shared_by_module(make: Callable[[], object]) -> Callable[..., Iterator[None]]:
    """Return a fixture of a module in which something is made once; tests read it from the tables."""

    @pytest.fixture(scope="module")
    def shared(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
        with django_db_blocker.unblock(), transaction.atomic():
            make()
            yield
            transaction.set_rollback(True)

    return shared
