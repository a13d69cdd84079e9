"""A crew's own page in the hand of who leads it: with a signal, and without."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from crews.services.crew_phone import give_out
from crews.services.today import wall_now
from jobs.models import DayLog, Plan
from tests.office import NOW

LEAST_TOUCH = 48
"""Pixels: the house's own least for a thumb in a glove."""


@pytest.fixture
def in_hand(page: Page, settings):
    """A phone set up for the crew that is first to work, on that morning."""
    first = Plan.objects.get().rows.filter(crew__isnull=False).order_by("start")[0]
    settings.TODAY = first.start.astimezone(NOW.tzinfo).strftime("%Y-%m-%dT%H:%M")
    _, token = give_out(first.crew, "Ines", wall_now())
    page.set_viewport_size({"width": 390, "height": 844})
    page.context.clear_cookies()
    page.goto(f"/crew/set-up/{token}/")
    page.get_by_role("button", name="This is the phone").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(first.crew.name)
    return page


def test_a_thumb_says_what_was_done(in_hand: Page):
    """Big buttons, nothing to scroll sideways, nothing axe minds; the office has it at once."""
    buttons = in_hand.get_by_role("button").all() + in_hand.get_by_role("link").all()
    seen = [button for button in buttons if button.is_visible()]
    assert min(button.bounding_box()["height"] for button in seen) >= LEAST_TOUCH
    assert in_hand.evaluate("document.documentElement.scrollWidth") == 390
    assert Axe().run(in_hand).response["violations"] == []
    in_hand.get_by_role("button", name="Started").first.click()
    expect(in_hand.get_by_text("· started").first).to_be_visible()
    assert DayLog.objects.get().kind == "started"


def test_nothing_said_is_lost_without_a_signal(in_hand: Page):
    """What is said waits on the phone, through a reload, and goes once there is a signal."""
    nothing_gets_through = "**/crew/say/**"
    in_hand.context.route(nothing_gets_through, lambda tap: tap.abort("internetdisconnected"))
    in_hand.get_by_role("button", name="Started").first.click()
    waiting = in_hand.get_by_text("Kept on this phone until there is a signal")
    expect(waiting).to_be_visible()
    in_hand.reload()
    expect(waiting).to_be_visible()
    assert not DayLog.objects.exists()
    in_hand.context.unroute(nothing_gets_through)
    in_hand.evaluate("dispatchEvent(new Event('online'))")
    expect(in_hand.get_by_text("· started").first).to_be_visible()
    assert [line.kind for line in DayLog.objects.all()] == ["started"]


def test_the_page_is_kept_for_when_there_is_no_signal(in_hand: Page):
    """From the first look on, as it was seen last, with what it needs to look and work the same."""
    in_hand.evaluate("navigator.serviceWorker.ready.then(() => true)")
    kept = in_hand.evaluate("caches.match('/crew/').then((page) => page.text())")
    assert "Started" in kept
    assert in_hand.evaluate("caches.open('crew-page').then((shelf) => shelf.keys())") != []


def test_what_was_sent_is_confirmed(in_hand: Page):
    """What the server says of it is not lost on the way, nor is a thumb that slipped without a way back."""
    in_hand.get_by_role("button", name="Done").first.click()
    expect(in_hand.locator("#said")).to_contain_text("kept.")
    in_hand.get_by_role("button", name="Pressed by mistake").first.click()
    expect(in_hand.locator("#said")).to_contain_text("taken back.")
    expect(in_hand.get_by_role("button", name="Started").first).to_be_visible()
    assert [line.kind for line in DayLog.objects.order_by("pk")] == ["done", "taken-back"]


def test_one_bar_of_signal_is_tried_again(in_hand: Page):
    """A phone that never says it was offline sends what it kept after a while, by itself."""
    in_hand.clock.install()
    nothing_gets_through = "**/crew/say/**"
    in_hand.context.route(nothing_gets_through, lambda tap: tap.abort("internetdisconnected"))
    in_hand.get_by_role("button", name="Started").first.click()
    expect(in_hand.get_by_text("Kept on this phone until there is a signal")).to_be_visible()
    expect(in_hand.get_by_text("Kept on this phone; it goes out by itself.")).to_be_visible()
    in_hand.context.unroute(nothing_gets_through)
    in_hand.clock.run_for(20_000)
    expect(in_hand.get_by_text("· started").first).to_be_visible()


def test_a_page_that_is_not_ours_has_not_heard_it(in_hand: Page):
    """A wireless network that answers everything with its own sign-in does not swallow a tap."""
    somebody_else = "**/crew/say/**"
    in_hand.context.route(somebody_else, lambda tap: tap.fulfill(status=200, body="Sign in"))
    in_hand.get_by_role("button", name="Started").first.click()
    in_hand.wait_for_timeout(300)
    assert len(in_hand.evaluate("JSON.parse(localStorage.taps)")) == 1
    in_hand.context.unroute(somebody_else)
    in_hand.evaluate("dispatchEvent(new Event('online'))")
    expect(in_hand.get_by_text("· started").first).to_be_visible()
