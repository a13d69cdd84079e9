"""What people do in the office, in a real browser under the strict content policy."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from crews.models import Person
from jobs.models import Plan
from tests.browser.axe import serious, serious_in_both_schemes
from tests.office import SLUG

PAGES = {
    "tomorrow": "/",
    "jobs": "/jobs/",
    "takeoff": f"/jobs/{SLUG}/",
    "add": f"/jobs/{SLUG}/build/?what=concrete-slab&where=bed",
    "sheet": f"/jobs/{SLUG}/sequence/",
    "activities": f"/jobs/{SLUG}/activities/",
    "new job": "/jobs/new/",
    "new job like another": f"/jobs/new/?like={SLUG}",
    "yard": f"/jobs/{SLUG}/yard/",
    "rough": "/rough/?area=900&kill=strip&slab=200&wall=&trees=2&gate=4+ft&start=2026-06-22&us_state=NC",
    "first finish": f"/jobs/{SLUG}/finish/",
    "work of one's own": f"/jobs/{SLUG}/activities/new/",
    "numbers": f"/jobs/{SLUG}/numbers/",
    "climate": f"/jobs/{SLUG}/climate/",
    "record": f"/jobs/{SLUG}/record/",
    "plan": "/plan/",
    "odds": "/plan/odds/",
    "safe": "/plan/safe/",
    "crews": "/crews/",
    "crew": "/crews/ground-crew/",
    "machines": "/machines/",
    "machine": "/machines/plate-compactor/",
    "calendars": "/calendars/",
    "library": "/library/?q=concrete",
    "kind of work": "/library/pour-slab/",
    "wait": "/library/waits/W-cure/",
    "health": "/plan/health/",
    "health of a job": f"/jobs/{SLUG}/health/",
    "sooner": f"/jobs/{SLUG}/sooner/",
    "what if": "/what-if/?change=saturdays&subject=&first=2026-06-22&last=2026-07-31",
}
PHONE = {"width": 390, "height": 844}
LEAST_TOUCH = 44
"""Pixels: what a finger hits, in the office."""


def test_tables_are_read_on_a_phone_without_scrolling_sideways(page: Page):
    """Each row is a card, or its columns fit: no box is narrower than what it shows."""
    page.set_viewport_size(PHONE)
    too_wide = {}
    for name in ("activities", "climate", "sheet", "library"):
        page.goto(PAGES[name])
        for fold in page.locator("main details:not(.folded)").all():
            fold.evaluate("fold => { fold.open = true; }")
        boxes = page.locator(".scroll, details").evaluate_all(
            "boxes => boxes.filter(box => box.scrollWidth > box.clientWidth).length"
        )
        too_wide[name] = boxes
    assert too_wide == {"activities": 0, "climate": 0, "sheet": 0, "library": 0}


def test_on_a_phone_the_places_take_one_row_and_the_rest_opens(page: Page):
    """Under the house's name five words a thumb can hit; a word in the corner holds the others, script or not."""
    page.set_viewport_size(PHONE)
    page.goto(PAGES["activities"])
    places = page.get_by_role("navigation", name="Main").get_by_role("link")
    assert places.all_inner_texts() == ["Tomorrow", "Look-ahead", "Jobs", "Plan", "Rained out"]
    boxes = [place.bounding_box() for place in places.all()]
    assert len({box["y"] for box in boxes}) == 1
    assert min(box["height"] for box in boxes) >= LEAST_TOUCH
    expect(page.get_by_role("link", name="Crews", exact=True)).to_be_hidden()
    page.get_by_text("More", exact=True).first.click()
    page.get_by_role("link", name="Crews", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Crews")


def test_sign_in_by_form(page: Page):
    """The first screen is the next day on which a crew works."""
    person = Person.objects.get(username="owner@example.com")
    person.set_password("a long enough word")
    person.save()
    page.context.clear_cookies()
    page.goto("/")
    page.get_by_label("E-mail address").fill("owner@example.com")
    page.get_by_label("Password").fill("a long enough word")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Thursday 25 June")


def test_quantities_follow_while_one_types(page: Page):
    """No button is pressed: the part beside the form changes."""
    page.goto(PAGES["add"])
    expect(page.locator("#measures")).to_contain_text("Pour and finish concrete")
    page.get_by_label(re.compile("^Area")).fill("333")
    expect(page.locator("#measures")).to_contain_text("333 ft²")
    page.get_by_label(re.compile("^Area")).fill("-2")
    expect(page.locator("#measures")).to_contain_text("-2")


def test_a_slab_is_added_planned_and_published(page: Page):
    """From the takeoff to the phones, and the pour stands on the sheet."""
    page.goto(PAGES["takeoff"])
    page.get_by_label("What", exact=True).select_option(label="Concrete slab")
    page.get_by_label("Where", exact=True).select_option(label="Bed")
    page.get_by_role("button", name="Measure it").click()
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_text("Concrete slab was added")).to_be_visible()
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("button", name=re.compile("Plan 1 open job again")).click()
    expect(page.get_by_text(re.compile("activities stand elsewhere"))).to_be_visible()
    page.get_by_role("button", name=re.compile("Publish plan")).click()
    expect(page.get_by_text(re.compile("is published. Phones show it"))).to_be_visible()
    page.goto(PAGES["sheet"])
    expect(page.get_by_role("link", name=re.compile("^Pour and finish concrete"))).to_be_visible()
    assert Plan.objects.filter(state=Plan.State.PUBLISHED).count() == 1


def test_the_story_opens_under_its_row(page: Page):
    """A click on the sheet tells it; the address can be shared; closing brings the sheet back."""
    page.goto(PAGES["sheet"])
    page.get_by_role("link", name=re.compile("^Lay crushed-stone path")).click()
    story = page.locator("#story")
    expect(story).to_contain_text("Why not sooner?")
    expect(story.get_by_role("heading", name="Lay crushed-stone path, front path")).to_be_visible()
    assert "open=" in page.url
    page.get_by_role("link", name="Close the story").click()
    expect(story).to_have_count(0)


def test_a_story_far_down_the_sheet_is_brought_into_view_and_leads_on(page: Page):
    """Its row on top, the next Tab in it, and its links open pages, not holes in the sheet."""
    page.set_viewport_size({"width": 1440, "height": 420})
    page.goto(PAGES["sheet"])
    page.get_by_role("link", name=re.compile("^Lay crushed-stone path")).click()
    expect(page.locator("#story h2")).to_be_in_viewport()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('#story') !== null")
    page.get_by_role("link", name="Change by hand").click()
    expect(page.get_by_role("heading", name="Pin it")).to_be_visible()


def test_the_page_one_is_on_is_marked_in_the_readers_own_colours(page: Page):
    """They leave no shadow: there is a line round its name, and round no other."""
    page.emulate_media(forced_colors="active")
    page.goto(PAGES["sheet"])
    lined = "links => links.filter(a => getComputedStyle(a).outlineStyle === 'solid').map(a => a.textContent)"
    names = page.locator(".head > nav a, .tabs > a").evaluate_all(lined)
    assert names == ["Jobs", "Sequence"]


def test_a_button_pressed_twice_sends_once(page: Page):
    """One homeowner's link, however impatient the hand."""
    asked: list[str] = []
    page.on("request", lambda told: asked.append(told.url) if told.method == "POST" else None)
    page.goto(PAGES["takeoff"])
    page.get_by_role("button", name="Make a link for the homeowner").dblclick()
    expect(page.get_by_text("A link for the homeowner of 3 Finch Street was made")).to_be_visible()
    assert len(asked) == 1


def test_what_is_wrong_is_under_the_hand(page: Page):
    """Also where it is folded away: the first field that is wrong has the focus."""
    page.goto("/settings/")
    page.get_by_text("Add summer hours, or the hours of a crew").click()
    page.evaluate("document.querySelectorAll('form').forEach(form => { form.noValidate = true; })")
    page.get_by_role("button", name="Keep these hours").click()
    expect(page.locator(":focus")).to_have_attribute("aria-invalid", "true")


def test_the_sheet_turns_into_a_list_on_a_phone(page: Page):
    """No picture to pan: days with their work."""
    page.set_viewport_size(PHONE)
    page.goto(PAGES["sheet"])
    expect(page.locator(".sheet-picture")).to_be_hidden()
    expect(page.locator(".sheet-list").get_by_text("Lay crushed-stone path")).to_be_visible()


def test_no_page_scrolls_sideways_on_a_phone(page: Page):
    """At 390 pixels everything fits."""
    page.set_viewport_size(PHONE)
    widths = {}
    for name, address in PAGES.items():
        page.goto(address)
        widths[name] = page.evaluate("document.documentElement.scrollWidth")
    assert widths == dict.fromkeys(PAGES, PHONE["width"])


@pytest.mark.parametrize("names", [[*PAGES][::2], [*PAGES][1::2]], ids=["one half", "the other"])
def test_axe_finds_nothing_serious(page: Page, names: list[str]):
    """Labels, contrast, roles and order of every page, in both color schemes; in halves, for two workers."""
    found = {}
    for name in names:
        page.goto(PAGES[name])
        found[name] = serious_in_both_schemes(page)
    assert {name: bad for name, bad in found.items() if bad} == {}


def test_the_homeowner_page_needs_no_sign_in_and_no_script(page: Page, browser):
    """Made in the office, opened by somebody else with scripts switched off."""
    page.goto(PAGES["takeoff"])
    page.get_by_role("button", name="Make a link for the homeowner").click()
    address = page.get_by_label("Address").input_value()
    stranger = browser.new_context(java_script_enabled=False, viewport=PHONE).new_page()
    stranger.goto(address)
    expect(stranger.get_by_role("heading", level=1)).to_have_text("3 Finch Street")
    expect(stranger.get_by_role("heading", level=2)).to_contain_text(["In your yard", "Next:"])
    assert reverse("homeowner", args=["x"])[:3] in address


def test_everything_works_without_script(page: Page, browser, base_url: str):
    """Add, plan and look with scripts switched off: plainer, but all there."""
    cookies = page.context.cookies()
    plain = browser.new_context(java_script_enabled=False, base_url=base_url)
    plain.add_cookies(cookies)
    quiet = plain.new_page()
    quiet.goto(PAGES["add"])
    quiet.get_by_role("button", name="Add it").click()
    expect(quiet.get_by_text("Concrete slab was added")).to_be_visible()
    quiet.goto(f"{PAGES['sheet']}?by=trade")
    expect(quiet.locator("svg.drawing").first).to_be_visible()


@pytest.mark.parametrize("viewport", [None, PHONE], ids=["desk", "phone"])
def test_a_rule_gives_way_only_to_a_reason(page: Page, viewport: dict[str, int] | None):
    """From an activity's story: a tie that closes a ring is told, the rule lifted, the reason stays."""
    if viewport:
        page.set_viewport_size(viewport)
    page.goto(PAGES["activities"])
    page.get_by_role("link", name="Lay crushed-stone path, front path").first.click()
    page.get_by_role("link", name="Change by hand").click()
    page.get_by_label("the other one").select_option(label="Clean up")
    page.get_by_role("button", name="Tie it", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("wait for each other in a ring")
    assert serious(page) == []
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert page.evaluate("document.documentElement.scrollWidth") == width
    for _ in range(6):
        if not page.get_by_role("alert").count():
            break
        for box in page.get_by_role("alert").get_by_role("checkbox").all():
            box.check()
        page.get_by_label(re.compile("^Why it does not hold here")).fill("the owner lays it later")
        page.get_by_role("button", name="Tie it all the same").click()
    expect(page.get_by_text("Kept. Plan again to see what moves.")).to_be_visible()
    page.goto(PAGES["activities"])
    expect(page.get_by_role("region", name="By hand")).to_contain_text("the owner lays it later")
