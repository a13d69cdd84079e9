"""Strength from temperature in hours and degrees Celsius: the plain forms that publications print.

The trade's own rules, with their floors and datum, stand in ``trade.concrete``.
"""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

KELVIN = 273.15
REFERENCE_C = 20.0
ACTIVATION_K = 5000.0


class Step(NamedTuple):
    """Some time (hours or days) at one temperature, Celsius."""

    time: float
    celsius: float


def warmth(steps: Iterable[Step], datum_c: float = 0.0) -> float:
    """Return the temperature-time factor, degrees times the steps' unit of time.

    Time below the datum adds nothing (Nurse 1949, Saul 1951; ASTM C1074 eq. 1).
    """
    return sum(max(0.0, step.celsius - datum_c) * step.time for step in steps)


def age_factor(
    celsius: float, reference_c: float = REFERENCE_C, activation_k: float = ACTIVATION_K
) -> float:
    """Return what time at a temperature is worth at another: exp(-Q (1/T - 1/Tr)), kelvin.

    ASTM C1074 eq. 2 after Carino 1984 (from memory).
    """
    return exp(-activation_k * (1 / (celsius + KELVIN) - 1 / (reference_c + KELVIN)))


def equivalent_age(steps: Iterable[Step], reference_c: float = REFERENCE_C) -> float:
    """Return the time at the reference temperature that some steps are worth, in their unit."""
    return sum(step.time * age_factor(step.celsius, reference_c) for step in steps)
