"""Sunset, for work that must be done in the dark.

Low-accuracy solar position of the NOAA Global Monitoring Division's solar calculator (equation of time and
declination by Fourier series of the fractional year); within a few minutes at mid latitudes.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from math import acos, cos, degrees, pi, radians, sin, tan
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

ZENITH = 90.833
"""Degrees from the zenith at which the upper edge of the sun sets, refraction included."""
DARK_AFTER = timedelta(minutes=30)
"""Light can be aimed from half an hour after sunset (common practice)."""


def sunset(day: date, latitude: float, longitude: float) -> datetime:
    """Return the instant of sunset in UTC.

    Parameters
    ----------
    latitude, longitude
        Degrees, north and east positive. Poleward of about 65 degrees the sun may not set; the
        hour angle is then held at noon or midnight.
    """
    year = 2 * pi / 365 * (day.timetuple().tm_yday - 1 + 0.5)
    equation = 229.18 * (
        0.000075
        + 0.001868 * cos(year)
        - 0.032077 * sin(year)
        - 0.014615 * cos(2 * year)
        - 0.040849 * sin(2 * year)
    )
    declination = (
        0.006918
        - 0.399912 * cos(year)
        + 0.070257 * sin(year)
        - 0.006758 * cos(2 * year)
        + 0.000907 * sin(2 * year)
        - 0.002697 * cos(3 * year)
        + 0.00148 * sin(3 * year)
    )
    lat = radians(latitude)
    cosine = cos(radians(ZENITH)) / (cos(lat) * cos(declination)) - tan(lat) * tan(declination)
    angle = degrees(acos(max(-1.0, min(1.0, cosine))))
    minutes = 720 - 4 * (longitude - angle) - equation
    return datetime.combine(day, time(), tzinfo=UTC) + timedelta(minutes=minutes)


def dark_from(day: date, latitude: float, longitude: float, zone: ZoneInfo) -> time:
    """Return the local time, to five minutes up, from which it is dark enough to aim lights."""
    moment = (sunset(day, latitude, longitude) + DARK_AFTER).astimezone(zone)
    up = (5 - moment.minute % 5) % 5
    return (moment + timedelta(minutes=up)).time().replace(second=0, microsecond=0)
