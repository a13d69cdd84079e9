"""Colours: every pair can be read, on paper and in the dark, and every colour is a token."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import tinycss2

CSS = Path(__file__).resolve().parents[2] / "static" / "css"
TOKENS = (CSS / "tokens.css").read_text("utf-8")
COLOUR = re.compile(r"--([\w-]+):\s*light-dark\((#\w{6}),\s*(#\w{6})\)")
SIDES = {name: sides for name, *sides in COLOUR.findall(TOKENS)}
TEXT = [("ink", "paper"), ("ink", "sheet"), ("ink-soft", "paper"), ("ink-soft", "sheet"),
        ("signal", "paper"), ("signal", "sheet"), ("on-ink", "ink")]  # fmt: skip
MARKS = [("ink", trade) for trade in ("moss", "clay", "slate", "lime", "rain", "brass")]
EDGES = [("mark", "sheet"), ("mark", "paper")]


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition of contrast ratio)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("side", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("pair", "least"),
    [(pair, 4.5) for pair in TEXT] + [(pair, 3.0) for pair in MARKS + EDGES],
    ids=lambda it: "-on-".join(it) if isinstance(it, tuple) else str(it),
)
def test_a_pair_can_be_read(pair, least, side):
    """Text 4.5 to 1, marks 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11)."""
    one, other = pair
    assert contrast(SIDES[one][side], SIDES[other][side]) >= least


def test_every_colour_of_a_stylesheet_is_a_token():
    """No colour is written anywhere but in tokens.css."""
    found = []
    for file in CSS.rglob("*.css"):
        if file.name != "tokens.css":
            rules = tinycss2.parse_component_value_list(file.read_text("utf-8"))
            found += [(file.name, t.value) for t in _walk(rules) if t.type == "hash"]
    assert found == []


def test_every_token_is_used():
    """A colour nobody paints with is taken out."""
    sheets = "".join(f.read_text("utf-8") for f in CSS.rglob("*.css"))
    unused = [name for name in re.findall(r"--([\w-]+):", TOKENS) if f"var(--{name})" not in sheets]
    assert unused == []


def _walk(nodes):
    for node in nodes:
        yield node
        yield from _walk(getattr(node, "content", None) or [])
