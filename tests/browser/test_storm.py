"""The evening it rains, on a phone: say it, see the ways out, accept steady, read what it means."""

from __future__ import annotations

import re
from datetime import date, timedelta

from django.urls import reverse
from playwright.sync_api import Page, expect

from jobs.models import LostTime, Plan
from tests.browser.axe import serious_in_both_schemes
from tests.office import SLUG

PHONE = {"width": 390, "height": 844}
PAGES = (
    "/storm/", "/storm/told/", "/evening/", "/happened/pause/", reverse("may-have-failed", args=["work"]),
    f"/jobs/{SLUG}/changes/", f"/jobs/{SLUG}/day/", f"/jobs/{SLUG}/moved/",
)  # fmt: skip


def first_day() -> date:
    """The first day on which a crew works."""
    plan = Plan.objects.get(state=Plan.State.PUBLISHED)
    return plan.rows.filter(crew__isnull=False).order_by("start")[0].start.date()


def say_rain(page: Page) -> None:
    """Two days of rain from the first working day."""
    first = first_day()
    page.goto("/storm/")
    page.get_by_label("When").select_option(label="the days below")
    page.get_by_label("From only for the days below").fill(first.isoformat())
    page.get_by_label("To empty: one day").first.fill((first + timedelta(days=1)).isoformat())
    page.get_by_role("button", name="Say so and see the ways out").click()


def test_rained_out_on_a_phone(page: Page):
    """A first answer at once, steadier ones by themselves, one accepted, everybody told the same."""
    page.set_viewport_size(PHONE)
    say_rain(page)
    expect(page.get_by_role("heading", name="Push right")).to_be_visible()
    expect(page.get_by_role("heading", name="Steady")).to_be_visible(timeout=20_000)
    expect(page.get_by_text("No overtime is the same as steady")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    page.get_by_role("button", name="Accept steady").click()
    expect(page.get_by_text(re.compile("is published. Phones show it"))).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_have_text("Who must be told")
    page.goto(f"/jobs/{SLUG}/moved/")
    expect(page.get_by_text("Weather days: at least half")).to_be_visible()
    assert Plan.objects.get(state=Plan.State.PUBLISHED).method == "steady"
    page.goto("/storm/")
    page.get_by_role("button", name="Back to plan 1").click()
    expect(page.get_by_text("Plan 1 again, published as plan 3")).to_be_visible()
    assert not LostTime.objects.filter(taken_back_at=None).exists()
    page.goto("/storm/")
    page.get_by_role("button", name="It was lost all the same").click()
    expect(page.get_by_role("heading", name="Push right")).to_be_visible()
    assert LostTime.objects.filter(taken_back_at=None, plan=None).exists()


def test_it_works_without_script(page: Page, browser, base_url: str):
    """The button does what the page does by itself with script."""
    plain = browser.new_context(java_script_enabled=False, base_url=base_url, viewport=PHONE)
    plain.add_cookies(page.context.cookies())
    quiet = plain.new_page()
    say_rain(quiet)
    expect(quiet.get_by_role("heading", name="Old order")).to_be_visible()
    quiet.get_by_role("button", name="Look for steadier ways").click()
    quiet.get_by_role("button", name="Accept steady").click()
    expect(quiet.get_by_text(re.compile("is published. Phones show it"))).to_be_visible()


def test_axe_finds_nothing_serious_and_nothing_scrolls_sideways(page: Page):
    """Every page of the evening, with the ways out on show, on a phone, in both color schemes."""
    page.set_viewport_size(PHONE)
    say_rain(page)
    expect(page.get_by_role("heading", name="Steady")).to_be_visible(timeout=20_000)
    found, widths = {}, {}
    for address in PAGES:
        page.goto(address)
        widths[address] = page.evaluate("document.documentElement.scrollWidth")
        found[address] = serious_in_both_schemes(page)
    assert {address: bad for address, bad in found.items() if bad} == {}
    assert widths == dict.fromkeys(PAGES, PHONE["width"])
