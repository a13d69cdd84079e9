"""A saved answer of a forecast service, read without network or database, as the command prints it.

Fields: ``now``, ``timezone``, ``http_status``, ``content_type``, ``body`` (an object, or text when the answer
was no JSON), ``request_path``.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from jobs.weather.errors import WeatherError
from jobs.weather.reading import (
    SLOTS,
    active,
    alert_days,
    day_span,
    days_of,
    read_day,
    read_slots,
    slot_spans,
    warned,
)
from jobs.weather.sources import SOURCES, USUAL
from jobs.weather.sources.source import BadAnswer

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from jobs.weather.hours import Alert, Hours
    from jobs.weather.reading import WindowReading

OK = 200


def read_saved(path: Path) -> dict[str, Any]:
    """Return what a saved answer says, by local day and slot.

    Raises
    ------
    WeatherError
        If the file is no saved answer; an answer that is no forecast is told in the result.
    """
    remedy = "save the answer as JSON with now, timezone, http_status and body"
    try:
        saved = json.loads(path.read_text("utf-8"))
        now = datetime.fromisoformat(saved["now"])
        zone = ZoneInfo(saved["timezone"])
        body, status = saved["body"], int(saved.get("http_status", OK))
    except OSError as error:
        raise WeatherError(f"{path} cannot be opened", remedy=remedy) from error
    except (ValueError, KeyError, TypeError, ZoneInfoNotFoundError) as error:
        raise WeatherError(f"{path.name} is no saved answer ({error})", remedy=remedy) from error
    now = now if now.tzinfo else now.replace(tzinfo=UTC)
    raw = body.encode() if isinstance(body, str) else json.dumps(body).encode()
    told = {"now": saved["now"], "timezone": saved["timezone"]}
    if status != OK:
        return told | {"kind": "error", "usable": False, "http_status": status}
    return told | _tell(raw, str(saved.get("request_path", "")), now, zone)


def _tell(raw: bytes, asked: str, now: datetime, zone: ZoneInfo) -> dict[str, Any]:
    source = SOURCES[USUAL]
    try:
        if asked.startswith("/points"):
            return _tell_where(raw)
        if asked.startswith("/alerts"):
            return tell_alerts(source.read_alerts(raw), now, zone)
        return tell_hours(source.read_hours(raw), now, zone)
    except BadAnswer as error:
        return {"kind": error.kind, "usable": False}


def _tell_where(raw: bytes) -> dict[str, Any]:
    source = SOURCES[USUAL]
    found = source.read_where(raw)
    return {
        "kind": "point",
        "usable": True,
        "grid": list(found.grid),
        "grid_url": source.base + found.path,
        "timezone_of_place": found.zone,
        "city": found.city,
        "state": found.state,
    }


def tell_hours(hours: Hours, now: datetime, zone: ZoneInfo) -> dict[str, Any]:
    """Return a forecast by local day and slot, with its age and what is missing."""
    days = days_of(hours.reach, zone)
    age = hours.age_hours(now)
    return {
        "kind": "grid",
        "days": {day.isoformat(): _day(read_day(hours, day, zone)) for day in days},
        "slots": {day.isoformat(): _slots(read_slots(hours, day, zone)) for day in days},
        "age_hours": None if age is None else round(age, 3),
        "missing_layers": list(hours.missing),
        "usable": hours.usable,
    }


def tell_alerts(alerts: Sequence[Alert], now: datetime, zone: ZoneInfo) -> dict[str, Any]:
    """Return the alerts that count, by local day and slot, and those that hold now."""
    days = alert_days(alerts, now, zone)
    return {
        "kind": "alerts",
        "usable": True,
        "counted": [alert.event for alert in alerts if alert.counts],
        "days": {day.isoformat(): _warned_day(alerts, day, zone) for day in days},
        "slots": {day.isoformat(): _warned_slots(alerts, day, zone) for day in days},
        "active_now": list(active(alerts, now)),
    }


def _warned_day(alerts: Sequence[Alert], day: date, zone: ZoneInfo) -> dict[str, Any]:
    held = warned(alerts, day_span(day, zone))
    return {"severity": held.severity, "events": list(held.events)}


def _warned_slots(alerts: Sequence[Alert], day: date, zone: ZoneInfo) -> list[dict[str, Any]]:
    out = []
    for (begin, end), span in zip(SLOTS, slot_spans(day, zone), strict=True):
        held = warned(alerts, span)
        out.append(
            {
                "start": f"{begin:%H:%M}",
                "end": f"{end:%H:%M}",
                "severity": held.severity,
                "events": list(held.events),
            }
        )
    return out


def _day(read: WindowReading) -> dict[str, Any]:
    return {
        "hours": round(read.hours, 1),
        **_window(read),
        "low_layer_c": rounded(read.low_layer_c),
        "high_layer_c": rounded(read.high_layer_c),
    }


def _slots(reads: Sequence[WindowReading]) -> list[dict[str, Any]]:
    return [
        {"start": f"{begin:%H:%M}", "end": f"{end:%H:%M}", **_window(read)}
        for (begin, end), read in zip(SLOTS, reads, strict=True)
    ]


def _window(read: WindowReading) -> Mapping[str, Any]:
    wind = read.wind_max_kmh
    return {
        "rain_mm": rounded(read.rain_mm),
        "rain_cover": round(read.rain_cover, 4),
        "pop_pct": read.pop_pct,
        "tmin_c": rounded(read.tmin_c),
        "tmax_c": rounded(read.tmax_c),
        "temp_cover": round(read.temp_cover, 4),
        "wind_max_kmh": rounded(wind),
        "wind_max_ms": rounded(None if wind is None else wind / 3.6),
        "wind_cover": round(read.wind_cover, 4),
        "gust_max_kmh": rounded(read.gust_max_kmh),
    }


def rounded(value: float | None) -> float | None:
    """Return a figure to three decimals."""
    return None if value is None else round(value, 3)
