"""Quantities and cautions as a crew would hear them."""

from __future__ import annotations

from decimal import Decimal

from .library import current_library

UNITS = {
    "ft2": "ft²",
    "ft": "ft",
    "yd3": "yd³",
    "tons": "tons",
    "each": "",
    "risers": "risers",
    "days": "",
}
"""Units as written on a page; a count needs none, a duration is not a quantity."""


def spoken_quantity(amount: Decimal, unit: str) -> str:
    """Return ``420 ft²``; empty for work that is measured in days."""
    if unit == "days":
        return ""
    whole = amount == amount.to_integral_value()
    number = f"{amount:,.0f}" if whole or amount >= 100 else f"{amount:,.1f}"
    return f"{number} {UNITS.get(unit, unit)}".strip()


def caution_text(key: str) -> str:
    """Return the caution's sentence, with whom it defers to."""
    caution = current_library().cautions[key]
    return caution.text
