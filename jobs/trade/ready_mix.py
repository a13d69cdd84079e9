"""How old ready-mixed concrete may get before it is placed, and how hot it may leave the truck.

What was agreed in the order goes before; the ticket, the supplier and the engineer overrule every figure.
"""

from __future__ import annotations

from typing import NamedTuple

USUAL_MINUTES = 90
MOST_TURNS = 300
"""From the water to the end of discharge, whichever comes first (ASTM C94 up to its edition of 2020)."""
LAST_FIXED = 2020
"""The last edition that set a limit itself; from C94/C94M-21 on the order says one (6.1.10, 12.9)."""


class Age(NamedTuple):
    """Minutes and turns of the drum that a load may be old; ``ask`` where nobody agreed a limit."""

    minutes: int
    turns: int | None = None
    ask: bool = False


def oldest(agreed: int | None = None, edition: int | None = None) -> Age:
    """Return how old a load may be when it is placed.

    Parameters
    ----------
    agreed
        Minutes agreed in the order.
    edition
        Year of the edition of ASTM C94 that the contract names.
    """
    if agreed is not None:
        return Age(agreed)
    if edition is not None and edition <= LAST_FIXED:
        return Age(USUAL_MINUTES, MOST_TURNS)
    return Age(USUAL_MINUTES, ask=True)
