"""The public API of the US National Weather Service: ``/points``, ``/gridpoints``, ``/alerts/active``.

Equal neighbouring values are merged into one longer interval; precipitation is a total over its interval
(weather-gov/api issues 20, 21, 111, 134). Intervals may begin hours before now, values may be null.
"""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from math import isfinite
from typing import TYPE_CHECKING, NamedTuple

from jobs.weather.errors import WeatherError
from jobs.weather.hours import Alert, Hours, Layer, Piece, Span, Where, minute

from .source import BadAnswer, Source

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.weather.climate import Spot

Json = object
DURATION = re.compile(
    r"P(?:(?P<days>\d+)D)?(?:T(?:(?P<hours>\d+)H)?(?:(?P<minutes>\d+)M)?(?:\d+S)?)?"
)

PATH = re.compile(r"https?://[^/?#]+(?P<path>/[\w.,/-]+)")


class Wanted(NamedTuple):
    """A layer of the answer: our name, what may be believed, whether it should be there."""

    ours: str
    least: float
    most: float
    needed: bool = False


WANTED: Mapping[str, Wanted] = {
    "quantitativePrecipitation": Wanted("rain", 0, 2000, needed=True),
    "probabilityOfPrecipitation": Wanted("chance", 0, 100, needed=True),
    "temperature": Wanted("temperature", -90, 60, needed=True),
    "windSpeed": Wanted("wind", 0, 500, needed=True),
    "relativeHumidity": Wanted("humidity", 0, 100),
    "windGust": Wanted("gust", 0, 500),
    "minTemperature": Wanted("low", -90, 60),
    "maxTemperature": Wanted("high", -90, 60),
}
TO_OURS: Mapping[str, tuple[float, float]] = {
    "": (1, 0),
    "degC": (1, 0),
    "degF": (1 / 1.8, -32 / 1.8),
    "km_h-1": (1, 0),
    "m_s-1": (3.6, 0),
    "mm": (1, 0),
    "percent": (1, 0),
}
"""Factor and offset from a unit of the service to ours."""


def where(spot: Spot) -> str:
    """Return the path that leads from a position to its grid square: four decimals at most."""
    return f"/points/{_degrees(spot.lat)},{_degrees(spot.lon)}"


def alerts(spot: Spot) -> str:
    """Return the path of the alerts that hold at a position."""
    return f"/alerts/active?point={_degrees(spot.lat)},{_degrees(spot.lon)}"


def _degrees(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def read_where(body: bytes) -> Where:
    """Return where a place's forecast is kept; of its address only the path is believed.

    Raises
    ------
    BadAnswer
        If the answer is anything else.
    """
    found = _properties(body)
    near = _mapping(_mapping(found.get("relativeLocation")).get("properties"))
    try:
        grid = (str(found["gridId"]), int(str(found["gridX"])), int(str(found["gridY"])))
        path = _path(str(found["forecastGridData"]))
    except (KeyError, ValueError) as error:
        raise BadAnswer("unknown", "the service does not know where this place is") from error
    return Where(
        path=path,
        zone=str(found.get("timeZone") or ""),
        grid=grid,
        city=str(near.get("city") or ""),
        state=str(near.get("state") or ""),
    )


def _path(address: str) -> str:
    """Path of an address of the service, without host and query."""
    found = PATH.fullmatch(address)
    if found is None:
        raise ValueError(address)
    return found["path"]


def read_hours(body: bytes) -> Hours:
    """Return the forecast of a gridpoint answer.

    Raises
    ------
    BadAnswer
        If the answer is no JSON, an error of the service, or of another shape.
    """
    found = _properties(body)
    reach = _span(found.get("validTimes"))
    if reach is None:
        raise BadAnswer("unknown", "the answer does not say which time it is for")
    remarks: list[str] = []
    layers = {
        wanted.ours: _layer(name, found[name], wanted, remarks)
        for name, wanted in WANTED.items()
        if name in found
    }
    missing = tuple(sorted(n for n, w in WANTED.items() if w.needed and n not in found))
    try:
        return Hours(
            updated=_instant(found.get("updateTime")),
            reach=reach,
            missing=missing,
            remarks=tuple(remarks),
            **layers,
        )
    except WeatherError as error:
        raise BadAnswer("unknown", error.reason) from error


def read_alerts(body: bytes) -> tuple[Alert, ...]:
    """Return the alerts of an answer; one that cannot be read holds from its arrival to nowhere.

    Raises
    ------
    BadAnswer
        If the answer is no collection of alerts.
    """
    features = _object(body).get("features")
    if not isinstance(features, list):
        raise BadAnswer("unknown", "the answer holds no alerts")
    read = [_alert(_mapping(_mapping(feature).get("properties"))) for feature in features]
    return tuple(alert for alert in read if alert is not None)


def _alert(found: Mapping[str, Json]) -> Alert | None:
    begin = _instant(found.get("onset")) or _instant(found.get("effective"))
    end = _instant(found.get("ends")) or _instant(found.get("expires"))
    if begin is None or end is None:
        return None
    counts = found.get("status") == "Actual" and found.get("messageType") != "Cancel"
    return Alert(
        event=str(found.get("event") or "Alert"),
        severity=str(found.get("severity") or "Unknown"),
        span=Span(minute(begin), minute(end)),
        counts=counts,
    )


def _object(body: bytes) -> Mapping[str, Json]:
    try:
        found = json.loads(body)
    except (ValueError, RecursionError) as error:
        raise BadAnswer("not_json", "the service answered with a page, not with data") from error
    if not isinstance(found, dict):
        raise BadAnswer("unknown", "the service answered with data of another shape")
    if "status" in found and "title" in found:
        raise BadAnswer("error", f"the service says: {found['title']}")
    return found


def _properties(body: bytes) -> Mapping[str, Json]:
    found = _object(body).get("properties")
    if not isinstance(found, dict):
        raise BadAnswer("unknown", "the service answered with data of another shape")
    return found


def _mapping(value: Json) -> Mapping[str, Json]:
    return value if isinstance(value, dict) else {}


def _layer(name: str, found: Json, wanted: Wanted, remarks: list[str]) -> Layer:
    """Read one layer; what cannot be believed is left out and remarked, never taken as zero."""
    layer = _mapping(found)
    unit = str(layer.get("uom") or layer.get("unitCode") or "").rpartition(":")[2]
    values = layer.get("values")
    if unit not in TO_OURS or not isinstance(values, list):
        remarks.append(f"{name} is in a unit or shape nobody knows and was left out")
        return Layer()
    pieces, odd = [], 0
    for entry in values:
        piece = _piece(_mapping(entry), TO_OURS[unit], wanted)
        odd += piece is None and _mapping(entry).get("value") is not None
        if piece is not None:
            pieces.append(piece)
    if odd:
        remarks.append(f"{odd} values of {name} cannot be and were left out")
    return Layer(tuple(sorted(pieces)))


def _piece(entry: Mapping[str, Json], unit: tuple[float, float], wanted: Wanted) -> Piece | None:
    value, span = entry.get("value"), _span(entry.get("validTime"))
    if span is None or isinstance(value, bool) or not isinstance(value, int | float):
        return None
    ours = value * unit[0] + unit[1]
    if not isfinite(ours) or not wanted.least <= ours <= wanted.most:
        return None
    return Piece(span, ours)


def _span(text: Json) -> Span | None:
    """Read ``2026-06-01T06:00:00+00:00/PT6H``."""
    if not isinstance(text, str):
        return None
    begins, _, lasts = text.partition("/")
    begin, length = _instant(begins), DURATION.fullmatch(lasts)
    if begin is None or length is None:
        return None
    parts = {name: int(number) for name, number in length.groupdict().items() if number}
    try:
        end = begin + timedelta(**parts)
    except OverflowError:
        return None
    span = Span(minute(begin), minute(end))
    return span if span.minutes > 0 else None


def _instant(text: Json) -> datetime | None:
    try:
        moment = datetime.fromisoformat(str(text))
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


SOURCE = Source(
    key="nws",
    name="US National Weather Service",
    base="https://api.weather.gov",
    accept="application/geo+json",
    where=where,
    read_where=read_where,
    read_hours=read_hours,
    alerts=alerts,
    read_alerts=read_alerts,
    credit="Forecast: US National Weather Service, public domain",
)
