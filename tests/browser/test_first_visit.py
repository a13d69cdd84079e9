"""Somebody new, from an empty database to a planned and published job, on a desk and on a phone."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, expect

from crews.services.people import create_owner
from jobs.models import Plan
from tests.browser.axe import serious

DESK, PHONE = {"width": 1440, "height": 900}, {"width": 390, "height": 844}
WORD = "a long enough word"


@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_from_nothing_to_a_published_plan(
    transactional_db: None, browser: Browser, base_url: str, viewport: dict[str, int]
):
    """Sign in, set up, a yard, something built in it, a plan on the phones; no help but the pages."""
    create_owner("ada@example.com", "Ada", WORD)
    page = browser.new_context(base_url=base_url, viewport=viewport).new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto("/")
    page.get_by_label("E-mail address").fill("ada@example.com")
    page.get_by_label("Password").fill(WORD)
    page.get_by_role("button", name="Sign in").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("Set your company up")
    page.get_by_label("State").select_option(label="North Carolina")
    page.get_by_label("Holidays").select_option(label="all that the state keeps")
    expect(page.locator("#holidays")).to_contain_text("Good Friday")
    page.get_by_label("Company").fill("Quillback Yards")
    page.get_by_label("a blank sheet").check()
    look_at(page, viewport)
    page.get_by_role("button", name="Set it up").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("A new job")
    page.get_by_label("Name", exact=True).fill("9 Wren Close")
    page.get_by_label("Address").fill("9 Wren Close, Asheville, NC")
    page.get_by_label("Weather like that of").select_option(label="Asheville")
    first = page.get_by_role("group", name="New zone 1", exact=True)
    first.get_by_label("Zone").fill("Terrace")
    first.get_by_label(re.compile("^Area")).fill("300")
    first.get_by_label(re.compile("^Clear width")).fill("4 ft 6 in")
    look_at(page, viewport)
    page.get_by_role("button", name="Make the job").click()

    expect(page.get_by_text("9 Wren Close is there")).to_be_visible()
    page.get_by_label("What", exact=True).select_option(label="Paver patio, permeable or not")
    page.get_by_role("button", name="Measure it").click()
    expect(page.locator("#measures")).to_contain_text("300 ft²")
    page.get_by_role("button", name="Add it").click()
    expect(page.locator("#first-finish")).to_contain_text("done about")
    look_at(page, viewport)
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("button", name="Plan 1 open job", exact=True).click()
    page.get_by_role("button", name=re.compile("Publish plan")).click()
    expect(page.get_by_text(re.compile("is published. Phones show it"))).to_be_visible()
    assert Plan.objects.get().state == Plan.State.PUBLISHED
    assert errors == []
    page.context.close()


def look_at(page, viewport):
    """Nothing scrolls sideways, and axe finds nothing serious."""
    assert page.evaluate("document.documentElement.scrollWidth") == viewport["width"]
    assert serious(page) == []
