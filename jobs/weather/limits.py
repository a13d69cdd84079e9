"""What stops work in a slot: limits on measured weather, the same for a forecast and for drawn weather.

A limit names a measure, a side and a figure in SI units. Reading it is one comparison, so that a forecast's
slot (numbers) and thousands of drawn slots (arrays) go by the same table. A measure that is not known
stops nothing by itself and is told by ``unknown``: it is never taken as fine.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple, overload

from .errors import WeatherError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy import bool_, float32
    from numpy.typing import NDArray

    Figures = NDArray[float32]


class Measure(StrEnum):
    """What weather is measured by, one figure a slot."""

    THUNDER = "thunder"
    """1 while thunder is near or was within half an hour."""
    RAIN_RATE = "rain-rate"
    """Millimetres an hour in the slot."""
    RAIN_DAY = "rain-day"
    """Millimetres from midnight to the end of the slot."""
    DRY_BEFORE = "dry-before"
    """Hours without rain before the slot."""
    DRY_AFTER = "dry-after"
    """Hours without rain after the slot."""
    STORM_AFTER = "storm-after"
    """Millimetres within three days after."""
    WIND = "wind"
    """Strongest sustained wind, m/s."""
    COLD = "cold"
    """Lowest air temperature in the slot, C."""
    HOT = "hot"
    """Highest air temperature in the slot, C."""
    NIGHT = "night"
    """Lowest air temperature within a day after, C."""
    SOIL = "soil"
    """Soil temperature, C."""
    HEAT_INDEX = "heat-index"
    """Heat index, Fahrenheit."""
    DRYING = "drying"
    """Hours until the ground has dried."""
    EVAPORATION = "evaporation"
    """Water off fresh concrete, lb/ft2/h."""


class Limit(NamedTuple):
    """A figure that a measure may not pass.

    Attributes
    ----------
    over
        True if more than ``figure`` stops the work, False if less does.
    given
        Holds only while another measure is over a figure: (measure, figure).
    """

    measure: Measure
    figure: float
    over: bool
    given: tuple[Measure, float] | None = None


@dataclass(frozen=True, slots=True)
class Broken:
    """A limit that a slot breaks, and what was measured."""

    limit: Limit
    measured: float


def broken(limits: Sequence[Limit], seen: Mapping[Measure, float | None]) -> Broken | None:
    """Return the first limit that a slot breaks, in the order of the limits; None if none is."""
    for limit in limits:
        measured = seen.get(limit.measure)
        given = seen.get(limit.given[0]) if limit.given else None
        if measured is not None and breaks(limit, measured, given):
            return Broken(limit, measured)
    return None


def unknown(limits: Sequence[Limit], seen: Mapping[Measure, float | None]) -> tuple[Measure, ...]:
    """Return the measures that would be needed to be sure and are not known."""
    return tuple(
        dict.fromkeys(limit.measure for limit in limits if seen.get(limit.measure) is None)
    )


@overload
def breaks(limit: Limit, measured: float, given: float | None) -> bool: ...


@overload
def breaks(limit: Limit, measured: Figures, given: Figures | None) -> NDArray[bool_]: ...


def breaks(
    limit: Limit, measured: float | Figures, given: float | Figures | None
) -> bool | NDArray[bool_]:
    """Return whether a limit is broken: for one figure of a forecast, or for arrays of drawn weather.

    Parameters
    ----------
    given
        What the other measure is at that moment, on which the limit hangs; None where it is not known,
        and the limit is then not judged.
    """
    passed = measured > limit.figure if limit.over else measured < limit.figure
    if limit.given is None:
        return passed
    return passed & (given > limit.given[1]) if given is not None else passed & False


def check_limits(limits: Sequence[Limit]) -> tuple[Limit, ...]:
    """Return limits as they are.

    Raises
    ------
    WeatherError
        If an upper and a lower limit of air leave no temperature to work in.
    """
    cold = max((it.figure for it in limits if it.measure is Measure.COLD), default=-99.0)
    hot = min((it.figure for it in limits if it.measure is Measure.HOT), default=99.0)
    if cold > hot:
        raise WeatherError(
            f"work from {cold:.0f} to {hot:.0f} C can never be done",
            remedy="let the lowest temperature be below the highest",
        )
    return tuple(limits)
