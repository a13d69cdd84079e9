"""What every test shares: hypothesis profiles, quick settings, markers by folder."""

from __future__ import annotations

import os
from datetime import date
from typing import TYPE_CHECKING

import pytest
from django.conf import settings as django_settings
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

settings.register_profile("dev", max_examples=30, deadline=None)
settings.register_profile(
    "ci",
    max_examples=50,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "soak", max_examples=5000, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci" if os.environ.get("CI") else "dev"))


ON_BOTH_DATABASES = (
    "test_backup",
    "test_chores",
    "test_event_drafts",
    "test_events",
    "test_feed_trouble",
    "test_feed_view",
    "test_feed_whose",
    "test_load_job",
    "test_planning",
    "test_publish",
    "test_solving",
    "test_storm_together",
    "test_tickets",
)
"""Files of tests that lean on locks, claims, constraints, order and time zones of the database."""


def pytest_configure() -> None:
    """Keep tests quick: a weak hash, mail in memory, no secret of this machine."""
    django_settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    django_settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Read no other files where only those for both databases are asked for; reading all takes longer than they do."""
    other = (
        collection_path.name.startswith("test_") and collection_path.stem not in ON_BOTH_DATABASES
    )
    return True if other and config.option.markexpr == "postgres" else None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark every test by the folder it stands in, and those for both databases; slow ones by request."""
    if "slow" not in config.option.markexpr:
        slow = [item for item in items if item.get_closest_marker("slow")]
        config.hook.pytest_deselected(items=slow)
        items[:] = [item for item in items if item not in slow]
    for item in items:
        if item.path.stem in ON_BOTH_DATABASES:
            item.add_marker("postgres")
        for folder in ("core", "app", "browser"):
            if f"/tests/{folder}/" in str(item.path):
                item.add_marker(folder)


@pytest.fixture(autouse=True)
def told_in_2026() -> Iterator[None]:
    """Words are told in the year of the tests' yards, whatever year it is; a page or command reads its own day."""
    from jobs import clock  # noqa: PLC0415 (tables are there only once Django is set up)

    with clock.telling_on(date(2026, 6, 16)):
        yield
