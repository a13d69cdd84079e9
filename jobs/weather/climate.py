"""Monthly climate of a place, and the place nearest to a yard.

Pure: rows are handed in. A month's figures are long-run means; what a single day does is drawn from
them elsewhere.
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from math import asin, cos, hypot, isfinite, radians, sin, sqrt
from typing import TYPE_CHECKING, NamedTuple

from .errors import BadPlace, WeatherError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

EARTH_KM = 6371.0
MONTH_DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
KM_PER_METRE_UP = 0.3
"""Kilometres that one metre of height counts for: 100 m are as far as 30 km. Our own convention; by
temperature alone it would be about 90 (0.65 C per 100 m, and some 0.7 C per degree of latitude)."""
LAPSE_C_PER_M = 0.0065
"""Degrees lost per metre of height (ICAO standard atmosphere)."""
STRANGE_PER_KM = 0.0006
"""Log-odds of wet days by which places differ per kilometre between them: 0.3 at 500 km, the
median over our own 148 places."""
MOST_STRANGE = 0.6
"""Log-odds beyond which a place is not taken to differ, however far (ours)."""
COOL_LATITUDE, COOL_MONTHS = 35.0, frozenset({10, 11, 12, 1, 2, 3})
"""October to March north of 35 degrees."""
FAR_KM = 150
"""From here on a page says how far the figures come from (our own convention)."""


class Month(NamedTuple):
    """Long-run figures of one month; None where nobody counted them.

    Attributes
    ----------
    tmax_c, tmin_c
        Mean daily maximum and minimum, Celsius.
    precip_mm
        Mean monthly total, snow melted.
    wet_days, heavy_days
        Mean days with at least 2.54 and 12.7 mm.
    wind_ms
        Mean wind at 10 m.
    after_dry, after_wet
        Chance of a wet day after a dry and after a wet one.
    """

    tmax_c: float
    tmin_c: float
    precip_mm: float
    wet_days: float
    heavy_days: float
    wind_ms: float | None = None
    after_dry: float | None = None
    after_wet: float | None = None


class Spot(NamedTuple):
    """A position: degrees north and east, metres above the sea or None."""

    lat: float
    lon: float
    elevation: float | None = None


@dataclass(frozen=True, slots=True)
class MonthlyClimate:
    """A place and its twelve months, January first.

    Raises
    ------
    WeatherError
        If there are not twelve months, or one cannot be.
    """

    station: str
    name: str
    state: str
    spot: Spot
    months: tuple[Month, ...]
    years: int = 0

    def __post_init__(self) -> None:
        """Refuse a year of other than twelve possible months."""
        check_spot(self.spot)
        if len(self.months) != len(MONTH_DAYS):
            raise WeatherError(
                f"{self.name} has {len(self.months)} months", remedy="give all twelve"
            )
        for days, month in zip(MONTH_DAYS, self.months, strict=True):
            wet_first = 0 <= month.heavy_days <= month.wet_days <= days
            if not (wet_first and month.tmin_c <= month.tmax_c and month.precip_mm >= 0):
                raise WeatherError(
                    f"a month of {self.name} cannot be", remedy="look at its days and temperatures"
                )

    @property
    def label(self) -> str:
        """Name with its state."""
        return f"{self.name}, {self.state}" if self.state else self.name


class Near(NamedTuple):
    """A climate, how many kilometres away, and how many metres higher (negative: lower)."""

    climate: MonthlyClimate
    km: float
    higher: float

    @property
    def far(self) -> bool:
        """True if a page should say how far the figures come from."""
        return self.km > FAR_KM

    @property
    def strange(self) -> float:
        """Spread of the log-odds of wet days that the distance alone adds, to a hundredth."""
        apart = hypot(self.km, KM_PER_METRE_UP * self.higher)
        return round(min(MOST_STRANGE, STRANGE_PER_KM * apart), 2)

    @property
    def cooler(self) -> float:
        """Degrees the yard is cooler than the place for its height alone."""
        return -LAPSE_C_PER_M * self.higher


def check_spot(spot: Spot) -> None:
    """Refuse a position that is nowhere on the earth.

    Raises
    ------
    BadPlace
        If a coordinate is missing, infinite or out of range.
    """
    numbers = all(map(isfinite, (spot.lat, spot.lon, spot.elevation or 0.0)))
    if not numbers or abs(spot.lat) > 90 or abs(spot.lon) > 180:  # noqa: PLR2004 - degrees
        raise BadPlace(
            f"{spot.lat:g} north, {spot.lon:g} east is nowhere on the earth",
            remedy="give latitude from -90 to 90 and longitude from -180 to 180, degrees",
        )


def season_of(day: date) -> float:
    """Return a day's place in the year, in months: the middle of January is 0.5, of December 11.5."""
    return day.month - 1 + (day.day - 0.5) / monthrange(day.year, day.month)[1]


def cool_half(day: date, lat: float) -> bool:
    """Return True in the half of the year in which soil dries half as fast (common practice)."""
    return lat > COOL_LATITUDE and day.month in COOL_MONTHS


def kilometres(a: Spot, b: Spot) -> float:
    """Return great-circle kilometres between two positions (haversine)."""
    north, east = radians(b.lat - a.lat), radians(b.lon - a.lon)
    chord = sin(north / 2) ** 2 + cos(radians(a.lat)) * cos(radians(b.lat)) * sin(east / 2) ** 2
    return 2 * EARTH_KM * asin(min(1.0, sqrt(chord)))


def nearest(climates: Iterable[MonthlyClimate], spot: Spot, count: int = 3) -> tuple[Near, ...]:
    """Return the places nearest to a position, height counted as distance, nearest first.

    Raises
    ------
    BadPlace
        If the position is nowhere, or there are no places.
    """
    check_spot(spot)
    near = [_near(climate, spot) for climate in climates]
    if not near:
        raise BadPlace("no place's climate is known", remedy="load the climate tables")
    near.sort(key=lambda it: (hypot(it.km, KM_PER_METRE_UP * it.higher), it.climate.station))
    return tuple(near[:count])


def _near(climate: MonthlyClimate, spot: Spot) -> Near:
    known = spot.elevation is not None and climate.spot.elevation is not None
    higher = (climate.spot.elevation or 0.0) - (spot.elevation or 0.0) if known else 0.0
    return Near(climate, kilometres(spot, climate.spot), higher)


def by_name(climates: Iterable[MonthlyClimate], name: str) -> MonthlyClimate:
    """Return the one place of a name (``Seattle``, ``Portland, OR``) or station number.

    Raises
    ------
    BadPlace
        If no place, or more than one, is called so.
    """
    wanted = name.strip().casefold()
    rows = list(climates)
    exact = [c for c in rows if wanted in {c.station.casefold(), c.label.casefold()}]
    found = exact or [c for c in rows if c.label.casefold().startswith(wanted)]
    if len(found) == 1:
        return found[0]
    if not found:
        raise BadPlace(f"no place called {name!r} is known", remedy="use a city and its state")
    names = "; ".join(sorted(c.label for c in found))
    raise BadPlace(f"{name!r} may be any of {names}", remedy="give the state, too")
