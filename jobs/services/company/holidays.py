"""Public holidays of a state, from the holidays library, as days nobody works."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from holidays import country_holidays

if TYPE_CHECKING:
    from datetime import date

USUAL, ALL, NONE = "usual", "all", "none"
SIX = (
    "New Year's Day",
    "Memorial Day",
    "Independence Day",
    "Labor Day",
    "Thanksgiving Day",
    "Christmas Day",
)
"""What most crews keep (common practice)."""
YEARS = 2
"""Years that are filled in, this one included."""
OBSERVED = " (observed)"


class Holiday(NamedTuple):
    """A day off and its name."""

    day: date
    name: str


def holidays_of(state: str, choice: str, today: date) -> tuple[Holiday, ...]:
    """Return the holidays to come in this year and the next, in order.

    Parameters
    ----------
    state
        Two letters; empty for those of the whole country.
    choice
        ``usual`` six, ``all`` that the state keeps, or ``none``. A holiday on a Saturday or Sunday
        brings the weekday on which it is kept along.
    """
    if choice == NONE:
        return ()
    years = range(today.year, today.year + YEARS)
    known = country_holidays("US", subdiv=state or None, years=years)
    found = (
        Holiday(day, name)
        for day, names in sorted(known.items())
        for name in names.split("; ")
        if day >= today and (choice == ALL or name.removesuffix(OBSERVED) in SIX)
    )
    return tuple({holiday.day: holiday for holiday in found}.values())
