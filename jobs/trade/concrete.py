"""Concrete: pours that fit a day, cure, strength by warmth, and drying wind.

Published least days of cure hold as a floor; strength is reckoned besides, never instead. An engineer's
release, the mix's own curve and the ready-mix ticket overrule every figure here.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from math import exp
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

POUR = "pour-slab"
POURED = frozenset({"pour-slab", "pour-footings"})
"""Works that must begin and end within one day, and are split into pours when they cannot."""
WITH_EACH_POUR = frozenset({"saw-joints", "cure-slab"})
"""Works that each pour has its own of."""

REFERENCE_K = 296.15
"""Kelvin of the reference temperature, 73.4 F (ASTM C1074, from memory)."""
ACTIVATION_K = 5000.0
"""Activation energy over the gas constant, kelvin (ASTM C1074, from memory; 4,000 to 5,400 in use)."""
DATUM_F = 32.0
"""Hours at or below freezing add no strength (ASTM C1074, datum 0 C)."""
REFERENCE_F = 73.4
CURE_F = 50.0
"""Only time at or above 50 F counts towards cure (ACI 308.1, from memory)."""
CURE_DAYS: Mapping[str, int] = {"Type I": 7, "Type II": 14, "high ash or slag": 21}
"""Least days of cure by cement (UFGS 03301A); Type IS and IP as Type I, up to 25 % fly ash or slag
as Type II, above 25 % 21 days."""
RUNNING_WATER_DAYS: Mapping[str, int] = {"Type III": 7}
"""Days kept from running water (UFGS 03301A), 14 for every other cement."""
SOFFIT_DAYS, SOFFIT_SHARE = 7, 0.75
"""Age and share of strength at which forms under concrete come off (a town's specification)."""
MACHINE_DAYS, MACHINE_SHARE = 7, 0.75
"""Age and share of strength that bear a light machine (common practice)."""
EVAPORATION_LIMIT = 0.20
"""Pounds of water per square foot and hour from which fresh concrete is guarded (ACI 305R)."""
HOTTEST_F = 95.0
"""Discharge temperature above which concrete is refused unless agreed (ACI 301-20, 305.1-14)."""
LB_FT2_PER_KG_M2 = 0.2048
KM_PER_MILE = 1.609344


class Warm(NamedTuple):
    """Some hours at one concrete temperature, Fahrenheit."""

    hours: float
    fahrenheit: float


def pours(days: Decimal) -> int:
    """Return the pours a slab is split into so that each fits a day: 1.75 days are 2 pours."""
    return max(1, int(days.to_integral_value(ROUND_CEILING)))


def cure_days(cement: str) -> int:
    """Return least days of cure at 50 F and above.

    Raises
    ------
    TradeError
        If nobody said how long such a cement is cured.
    """
    if cement not in CURE_DAYS:
        raise TradeError(
            f"how long {cement!r} is cured is not known",
            remedy=f"use one of {', '.join(CURE_DAYS)}, or ask the supplier",
        )
    return CURE_DAYS[cement]


def days_cured(days_f: Sequence[float]) -> int:
    """Return how many of some days count as cure, by the temperature each was kept at."""
    return sum(fahrenheit >= CURE_F for fahrenheit in days_f)


def cured(cement: str, days_f: Sequence[float]) -> bool:
    """Return True if a slab kept at these temperatures, one a day since the pour, is cured."""
    return days_cured(days_f) >= cure_days(cement)


def soffit_may_strip(days: float, share: float) -> bool:
    """Return True if forms below a slab or beam may come off at an age and tested share of strength."""
    return days >= SOFFIT_DAYS and share >= SOFFIT_SHARE


def safe_from_running_water(days: float, cement: str = "Type I") -> bool:
    """Return True if water may run over a slab so many days old."""
    return days >= RUNNING_WATER_DAYS.get(cement, 14)


def age_factor(fahrenheit: float) -> float:
    """Return hours at 73.4 F that one hour is worth (ASTM C1074 eq. 2); 50 F is 0.461."""
    if fahrenheit <= DATUM_F:
        return 0.0
    kelvin = (fahrenheit - 32) / 1.8 + 273.15
    return exp(-ACTIVATION_K * (1 / kelvin - 1 / REFERENCE_K))


def careful_age_factor(fahrenheit: float) -> float:
    """Return the temperature-time factor over 32 F (ASTM C1074 eq. 1); 50 F is 0.435."""
    return max(0.0, fahrenheit - DATUM_F) / (REFERENCE_F - DATUM_F)


def equivalent_days(weather: Sequence[Warm]) -> float:
    """Return days at 73.4 F that so much warmth is worth: 2 d at 73.4 and 5 at 50 are 4.30."""
    return sum(w.hours * age_factor(w.fahrenheit) for w in weather) / 24


def strength(days: float) -> float:
    """Return the share of 28-day strength at 73 F: t / (4 + 0.85 t) (ACI 209R, from memory)."""
    return days / (4 + 0.85 * days)


def days_to(share: float) -> float:
    """Return days at 73 F to a share of the 28-day strength: 0.75 takes 8.28.

    Raises
    ------
    TradeError
        If the share is never reached (1 / 0.85 and above).
    """
    left = 1 - 0.85 * share
    if left <= 0:
        raise TradeError(
            f"concrete never reaches {share:.0%} by this curve",
            remedy="ask for a share below 117 %",
        )
    return 4 * share / left


def bears(share: float, least_days: float, fahrenheit: float) -> float:
    """Return days from the pour to a load that needs a share of strength and a least age, both.

    Worked: 75 % and 7 days at a steady 73.4 F is 8.28 d; at 90 F strength comes at 4.97 d and the
    seven days bind.
    """
    factor = age_factor(fahrenheit)
    if factor == 0:
        raise TradeError(
            f"concrete at {fahrenheit} F gains no strength", remedy="keep it warm, or wait"
        )
    return max(least_days, days_to(share) / factor)


def evaporation(concrete_f: float, air_f: float, humidity: float, wind_mph: float) -> float:
    """Return pounds of water per square foot and hour off fresh concrete.

    SI form of the ACI Materials Journal 95-M34 (1998): 5 ((Tc + 18)^2.5 - r (Ta + 18)^2.5)(V + 4)
    10^-6 kg/m2/h, Celsius and km/h. ``humidity`` is a share from 0 to 1. Never less than nothing.
    """
    concrete, air = (concrete_f - 32) / 1.8, (air_f - 32) / 1.8
    wind = wind_mph * KM_PER_MILE
    pull: float = max(0.0, concrete + 18) ** 2.5 - humidity * max(0.0, air + 18) ** 2.5
    return max(0.0, 5e-6 * pull * (wind + 4) * LB_FT2_PER_KG_M2)


def evaporation_us(concrete_f: float, air_f: float, humidity: float, wind_mph: float) -> float:
    """Return pounds of water per square foot and hour by the inch-pound form; never less than nothing.

    (Tc^2.5 - r Ta^2.5)(1 + 0.4 V) 10^-6 (the same paper): some 4 % more than the SI form.
    """
    pull: float = max(0.0, concrete_f) ** 2.5 - humidity * max(0.0, air_f) ** 2.5
    return max(0.0, pull * (1 + 0.4 * wind_mph) * 1e-6)


def must_guard(pounds: float) -> bool:
    """Return True if fresh concrete drying at this rate is guarded: fog, windbreak, or another day."""
    return pounds >= EVAPORATION_LIMIT


def too_hot(discharge_f: float) -> bool:
    """Return True if concrete so hot at discharge is refused unless agreed beforehand."""
    return discharge_f > HOTTEST_F
