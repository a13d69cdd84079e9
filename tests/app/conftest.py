"""What most tests of the app begin with; a file that needs another yard has a fixture of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.core.cache import caches
from django.test import override_settings

from crews.services.feeds import BODIES
from tests.factories import CalendarEventFactory, CrewFactory
from tests.feeds import CHANGED, link_to
from tests.office import office_with_job, open_office, published_yard, signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator

    from django.test import Client

    from jobs.models import Job


@pytest.fixture(scope="package", autouse=True)
def static_files_found_when_asked_for() -> Iterator[None]:
    """Else each test's browser lists and stats all of them for its first page, which takes longer than the page.

    The tests in a real browser serve them by the list, as the house does.
    """
    with override_settings(WHITENOISE_AUTOREFRESH=True):
        yield


@pytest.fixture
def job(db) -> Job:
    """A front path and a bed from Monday 22 June, not planned, in a company that can build them."""
    return office_with_job()


@pytest.fixture
def published_job(db) -> Job:
    """The same yard, planned and published."""
    return published_yard()


@pytest.fixture
def owner(db) -> Client:
    """The owner's browser, in a company with crews and no yard, on Tuesday 16 June."""
    open_office()
    return signed_in()


@pytest.fixture
def own_shelf(settings, tmp_path) -> None:
    """A shelf of last good bodies of its own."""
    settings.CACHES = {
        **settings.CACHES,
        "feeds": {
            "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
            "LOCATION": tmp_path,
        },
    }
    caches["feeds"].clear()
    BODIES.things.clear()


@pytest.fixture
def address(db) -> str:
    """The address of the ground crew's feed, with one event in it."""
    CrewFactory(name="Ground crew", slug="ground-crew")
    CalendarEventFactory(modified=CHANGED)
    return link_to("crew:ground-crew")[1]
