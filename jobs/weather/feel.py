"""How cold it feels, and how fast water leaves fresh concrete, in the units their publications use."""

from __future__ import annotations

CHILL_BELOW_F, CHILL_FROM_MPH = 50.0, 3.0
"""Wind chill is defined at and below 50 F and from 3 mph on."""
WARN_KG_M2_H, WARN_LB_FT2_H = 1.0, 0.2
"""Rates at which fresh concrete is guarded (ACI 305R); we warn from whichever form says so first."""


def wind_chill(air_f: float, wind_mph: float) -> float:
    """Return the wind chill, Fahrenheit; the air itself where it is not defined.

    US National Weather Service 2001 (from memory).
    """
    if air_f > CHILL_BELOW_F or wind_mph < CHILL_FROM_MPH:
        return air_f
    gust: float = wind_mph**0.16
    return 35.74 + 0.6215 * air_f - 35.75 * gust + 0.4275 * air_f * gust


def evaporation_us(concrete_f: float, air_f: float, humidity: float, wind_mph: float) -> float:
    """Return pounds of water per square foot and hour off fresh concrete; never less than nothing.

    (Tc^2.5 - r Ta^2.5)(1 + 0.4 V) 10^-6, ``humidity`` from 0 to 1 (Uno 1998, ACI Materials Journal 95-M34).
    It gives some 4 % more than the SI form.
    """
    pull: float = max(0.0, concrete_f) ** 2.5 - humidity * max(0.0, air_f) ** 2.5
    return max(0.0, pull * (1 + 0.4 * wind_mph) * 1e-6)


def evaporation_si(concrete_c: float, air_c: float, humidity: float, wind_kmh: float) -> float:
    """Return kilograms of water per square metre and hour; never less than nothing.

    5 ((Tc + 18)^2.5 - r (Ta + 18)^2.5)(V + 4) 10^-6 (Uno 1998, ACI Materials Journal 95-M34).
    """
    pull: float = max(0.0, concrete_c + 18) ** 2.5 - humidity * max(0.0, air_c + 18) ** 2.5
    return max(0.0, 5e-6 * pull * (wind_kmh + 4))


def must_guard(concrete_f: float, air_f: float, humidity: float, wind_mph: float) -> bool:
    """Return True if either form reaches its warning."""
    celsius, kmh = 1 / 1.8, 1.609344
    si = evaporation_si(
        (concrete_f - 32) * celsius, (air_f - 32) * celsius, humidity, wind_mph * kmh
    )
    us = evaporation_us(concrete_f, air_f, humidity, wind_mph)
    return si >= WARN_KG_M2_H or us >= WARN_LB_FT2_H
