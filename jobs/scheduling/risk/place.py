"""What the weather of a yard is drawn from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.trade.soil import OPEN_GROUND, Lie

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from jobs.trade.facts import DryOut
    from jobs.weather.rain import Rain
    from jobs.weather.temperature import Warmth


class DayForecast(NamedTuple):
    """What a forecast says of a day: chance of a wet day (0 to 1), high and low (C), wind (m/s)."""

    wet: float
    high: float
    low: float
    wind: float


@dataclass(frozen=True, slots=True)
class Place:
    """What the weather of a yard is drawn from.

    Attributes
    ----------
    name
        Of the station: yards with the same one have the same rain, whatever their soil.
    dryout, lie
        How its soil dries, and how it lies.
    lat
        Latitude, for the cool half of the year.
    forecast
        Days within reach, by date.
    """

    name: str
    rain: Rain
    warmth: Warmth
    dryout: DryOut
    lat: float
    forecast: Mapping[date, DayForecast]
    lie: Lie = OPEN_GROUND
