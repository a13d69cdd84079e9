"""A real browser: the distribution's own Chromium, signed in by cookie; any page error fails the test."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from django.conf import settings
from django.db import connections

from crews.models import Role
from tests.office import open_office, published_plan, signed_in, small_job

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import ConsoleMessage, Page

CHROMIUM = "/usr/bin/chromium"
LET_PASS = ("422 (Unprocessable", "ERR_INTERNET_DISCONNECTED")
"""A refused form is a 422, and no signal is meant where a test takes it away: the browser notes both."""


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, object]:
    """Nothing is downloaded; root may not use the sandbox."""
    flags = ["--no-sandbox"] if os.geteuid() == 0 else []
    return {"executable_path": CHROMIUM, "args": flags}


@pytest.fixture(scope="session")
def django_db_modify_db_settings() -> None:
    """A database in a file: the threads of the live server each have a connection of their own.

    One in memory is shared by all, and a thread that ends after the server has stopped may not close it.
    """
    database = connections["default"].settings_dict
    if database["ENGINE"].endswith("sqlite3"):
        database["TEST"]["NAME"] = str(settings.DATA / "browser.sqlite3")


@pytest.fixture
def office(transactional_db: None) -> None:
    """A small yard, planned and published, in rows the live server sees."""
    open_office()
    small_job()
    published_plan()


@pytest.fixture
def page(page: Page, live_server: object, office: None) -> Iterator[Page]:
    """A page signed in as the owner, on which nothing may go wrong unseen."""
    errors: list[str] = []

    def note(message: ConsoleMessage) -> None:
        if message.type == "error" and not any(words in message.text for words in LET_PASS):
            errors.append(message.text)

    page.on("console", note)
    page.on("pageerror", lambda error: errors.append(str(error)))
    cookie = signed_in(Role.OWNER).cookies["sessionid"].value
    page.context.add_cookies([{"name": "sessionid", "value": cookie, "url": str(live_server)}])
    yield page
    assert errors == []


@pytest.fixture(scope="session")
def base_url(live_server: object) -> str:
    """Addresses are of the live server."""
    return str(live_server)
