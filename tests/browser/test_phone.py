"""A calendar onto a phone, as it is done: the office makes a link, a phone opens its page."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from crews.services.links import make_link
from crews.services.phone import make_setup
from crews.services.today import wall_now
from tests.calendars import read_strictly

PHONE, DESK = {"width": 390, "height": 844}, {"width": 1440, "height": 900}
LEAST_TOUCH = 44
"""Pixels: a thumb in a glove (WCAG 2.2, success criterion 2.5.5)."""


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_office_makes_replaces_and_turns_off_a_link(page: Page, size):
    """The new address is shown once; the list tells one live link and one that is off."""
    page.set_viewport_size(size)
    page.goto("/calendars/")
    page.get_by_label("Calendar of").select_option(label="Stone crew")
    page.get_by_label("For whom").fill("Rafe")
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_role("img", name="Square code of the set-up page")).to_be_visible()
    first = page.get_by_label("Address of the calendar").input_value()
    page.get_by_role("link", name="All calendars").click()
    page.get_by_role("button", name="Replace Stone crew of Rafe").click()
    assert page.get_by_label("Address of the calendar").input_value() != first
    page.get_by_role("link", name="All calendars").click()
    page.get_by_role("button", name="Turn off Stone crew of Rafe").click()
    expect(page.get_by_text(re.compile(r"Turned off \w{3} \d"))).to_have_count(2)
    assert page.evaluate("document.documentElement.scrollWidth") == size["width"]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_phone_opens_its_page_and_takes_the_calendar_in(page: Page, size):
    """A button a thumb can hit for every kind of calendar; the address opens the feed."""
    page.set_viewport_size(size)
    link, token = make_link("crew:stone-crew", person="Rafe", now=wall_now())
    setup = make_setup(link, token, wall_now())
    page.context.clear_cookies()
    page.goto(f"/phone/{setup}/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Stone crew - Yardwright")
    buttons = page.get_by_role("link").all()
    assert [button.inner_text() for button in buttons] == [
        "Add to this iPhone or iPad",
        "Open in the app",
        "Add to the account",
    ]
    assert min(button.bounding_box()["height"] for button in buttons) >= LEAST_TOUCH
    assert page.evaluate("document.documentElement.scrollWidth") == size["width"]
    assert Axe().run(page).response["violations"] == []
    body = page.request.get(page.get_by_label("Hold to copy").input_value()).body()
    assert read_strictly(body).one("NAME").text == "Stone crew - Yardwright"
    assert page.context.cookies() == []
    assert page.request.get(f"/phone/{setup}/").status == 410
