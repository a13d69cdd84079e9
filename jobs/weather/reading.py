"""A forecast read by local day and by working slot, and the alerts that hold then.

Days run from local midnight to local midnight, 23 or 25 hours when clocks change; slots are six of two hours
on the clock on the wall, 7:00 to 19:00.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, NamedTuple

from .hours import Span, minute, moment

if TYPE_CHECKING:
    from collections.abc import Sequence
    from zoneinfo import ZoneInfo

    from .hours import Alert, Hours

SLOTS = tuple((time(hour), time(hour + 2)) for hour in range(7, 19, 2))
SEVERITIES = ("Unknown", "Minor", "Moderate", "Severe", "Extreme")
STALE_HOURS = 24
"""From this age on a forecast is shown as old."""
SKEW_HOURS = 1
"""A forecast made so much later than now means that a clock is wrong."""


class WindowReading(NamedTuple):
    """What a forecast says of a window; None is unknown, never zero.

    Attributes
    ----------
    rain_mm
        What falls in the covered share of the window.
    rain_cover, temp_cover, wind_cover
        Share of the window that is known, 0 to 1. Below 1 the rain is not the whole window's.
    low_layer_c, high_layer_c
        The day's own low and high as the service gives them; None for slots.
    """

    span: Span
    rain_mm: float | None
    rain_cover: float
    pop_pct: float | None
    tmin_c: float | None
    tmax_c: float | None
    temp_cover: float
    humidity_pct: float | None
    wind_max_kmh: float | None
    wind_cover: float
    gust_max_kmh: float | None
    low_layer_c: float | None = None
    high_layer_c: float | None = None

    @property
    def hours(self) -> float:
        """Length of the window."""
        return self.span.minutes / 60


def read_window(hours: Hours, span: Span, *, day: bool = False) -> WindowReading:
    """Return what a forecast says of a window."""
    return WindowReading(
        span=span,
        rain_mm=hours.rain.total(span),
        rain_cover=hours.rain.cover(span),
        pop_pct=hours.chance.most(span),
        tmin_c=hours.temperature.least(span),
        tmax_c=hours.temperature.most(span),
        temp_cover=hours.temperature.cover(span),
        humidity_pct=hours.humidity.least(span),
        wind_max_kmh=hours.wind.most(span),
        wind_cover=hours.wind.cover(span),
        gust_max_kmh=hours.gust.most(span),
        low_layer_c=hours.low.ending_in(span) if day else None,
        high_layer_c=hours.high.ending_in(span) if day else None,
    )


def day_span(day: date, zone: ZoneInfo) -> Span:
    """Return a local day from midnight to midnight."""
    return clock_span(day, time(), day + timedelta(days=1), time(), zone)


def clock_span(day: date, begin: time, end_day: date, end: time, zone: ZoneInfo) -> Span:
    """Return a span given on the clock on the wall."""
    first = datetime.combine(day, begin, tzinfo=zone).astimezone(UTC)
    last = datetime.combine(end_day, end, tzinfo=zone).astimezone(UTC)
    return Span(minute(first), minute(last))


def days_of(span: Span, zone: ZoneInfo) -> tuple[date, ...]:
    """Return every local day that a span touches."""
    first = moment(span.begin).astimezone(zone).date()
    last = moment(span.end - 1).astimezone(zone).date()
    return tuple(first + timedelta(days=n) for n in range((last - first).days + 1))


def read_day(hours: Hours, day: date, zone: ZoneInfo) -> WindowReading:
    """Return what a forecast says of a local day."""
    return read_window(hours, day_span(day, zone), day=True)


def slot_spans(day: date, zone: ZoneInfo) -> tuple[Span, ...]:
    """Return the six working slots of a local day."""
    return tuple(clock_span(day, begin, day, end, zone) for begin, end in SLOTS)


def read_slots(hours: Hours, day: date, zone: ZoneInfo) -> tuple[WindowReading, ...]:
    """Return what a forecast says of the six working slots of a local day."""
    return tuple(read_window(hours, span) for span in slot_spans(day, zone))


class Warned(NamedTuple):
    """Worst severity in a window, None without alerts, and the events, worst first."""

    severity: str | None
    events: tuple[str, ...]


def warned(alerts: Sequence[Alert], span: Span) -> Warned:
    """Return the alerts that count and hold in a window."""
    held = [a for a in alerts if a.counts and a.span.shared(span)]
    held.sort(key=lambda alert: -rank(alert.severity))
    return Warned(held[0].severity if held else None, tuple(alert.event for alert in held))


def active(alerts: Sequence[Alert], now: datetime) -> tuple[str, ...]:
    """Return the events that hold at an instant."""
    at = minute(now)
    return tuple(a.event for a in alerts if a.counts and a.span.begin <= at < a.span.end)


def alert_days(alerts: Sequence[Alert], now: datetime, zone: ZoneInfo) -> tuple[date, ...]:
    """Return the local days from today to the end of the last alert that counts."""
    at = minute(now)
    ends = [alert.span.end for alert in alerts if alert.counts]
    return days_of(Span(at, max([at + 1, *ends])), zone)


def rank(severity: str) -> int:
    """Return how bad a severity is, 0 for words nobody knows."""
    return SEVERITIES.index(severity) if severity in SEVERITIES else 0


def stale(age_hours: float | None) -> bool:
    """Return True if a forecast is too old to go by, or its clock is wrong."""
    return age_hours is None or age_hours >= STALE_HOURS or age_hours < -SKEW_HOURS
