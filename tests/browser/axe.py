"""What axe minds about a page, in both colour schemes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from axe_playwright_python.sync_playwright import Axe

if TYPE_CHECKING:
    from playwright.sync_api import Page

OF_COLORS = {"runOnly": ["color-contrast", "link-in-text-block"], "resultTypes": ["violations"]}
"""Rules whose answer colors can change: a scheme changes nothing else of a page."""
ALL = {"resultTypes": ["violations"]}


def serious(page: Page, rules: dict[str, list[str]] = ALL) -> list[tuple[str, str]]:
    """Violations of weight, each with the first piece of the page that commits it."""
    return [
        (found["id"], found["nodes"][0]["html"][:120])
        for found in Axe().run(page, options=rules).response["violations"]
        if found["impact"] in {"serious", "critical"}
    ]


def serious_in_both_schemes(page: Page) -> list[tuple[str, str]]:
    """Every rule in the light, those of colors in the dark, on the page as it stands open."""
    page.emulate_media(color_scheme="light")
    light = serious(page)
    page.emulate_media(color_scheme="dark")
    return light + serious(page, OF_COLORS)
