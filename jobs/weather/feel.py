"""How cold it feels in the wind."""

from __future__ import annotations

CHILL_BELOW_F, CHILL_FROM_MPH = 50.0, 3.0
"""Wind chill is defined at and below 50 F and from 3 mph on."""


def wind_chill(air_f: float, wind_mph: float) -> float:
    """Return the wind chill, Fahrenheit; the air itself where it is not defined.

    US National Weather Service 2001 (from memory).
    """
    if air_f > CHILL_BELOW_F or wind_mph < CHILL_FROM_MPH:
        return air_f
    gust: float = wind_mph**0.16
    return 35.74 + 0.6215 * air_f - 35.75 * gust + 0.4275 * air_f * gust
