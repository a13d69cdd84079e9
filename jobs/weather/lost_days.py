"""What counts as a day lost to weather, and how many a contract gives for it."""

from __future__ import annotations

from .errors import WeatherError

HALF = 0.5
"""Share of the day lost from which it is a weather day (ER 415-1-15 of 31 Oct 1989; 50 % from memory)."""


def is_weather_day(lost: float, whole: float) -> bool:
    """Return True if enough of a day was lost, in hours or slots: 4 of 8 h are, 3.9 are not.

    Raises
    ------
    WeatherError
        If more was lost than there was, or nothing was there to lose.
    """
    if not 0 <= lost <= whole or whole <= 0:
        raise WeatherError(
            f"{lost:g} of {whole:g} cannot be lost", remedy="give what was lost of a working day"
        )
    return lost >= HALF * whole


def excusable(lost: int, expected: int) -> int:
    """Return the lost days beyond those a month is expected to lose: 9 of 7 are 2."""
    return max(0, lost - expected)
