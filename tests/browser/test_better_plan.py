"""Looking for a better plan, as somebody sees it who stays on the page."""

from __future__ import annotations

import re

from django.core.management import call_command
from playwright.sync_api import Page, expect

from jobs.models import Plan, Solve


def test_a_better_plan_is_asked_for_watched_and_comes_by_itself(page: Page):
    """A part polls; no worker is told; a reload loses nothing; the proposal appears unasked."""
    page.goto("/plan/")
    page.get_by_role("button", name="Look for a better plan").click()
    part = page.locator("#solve")
    expect(part).to_contain_text("No worker is running")
    page.reload()
    expect(part).to_contain_text("A better plan is asked for")
    Solve.objects.update(limit=0.5)
    call_command("worker", "--once")
    expect(page.get_by_role("button", name=re.compile("Publish plan 2"))).to_be_visible()
    expect(page.get_by_role("button", name="Look for a better plan")).to_be_visible()
    assert Plan.objects.get(state=Plan.State.PROPOSED).number == 2


def test_a_search_is_called_off_without_a_reload(page: Page):
    """The part says how it stands after each click."""
    page.goto("/plan/")
    page.get_by_role("button", name="Look for a better plan").click()
    page.get_by_role("button", name="Never mind").click()
    expect(page.get_by_role("button", name="Look for a better plan")).to_be_visible()
    expect(page.locator("#solve")).to_contain_text("stopped before anybody began")
