"""Weather classes of the library as limits, the measures of a forecast's slot, and why work stops.

One question for all: may this work be done in this slot, and if not, why.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from jobs.trade import cautions, concrete
from jobs.trade.work import Sentence
from jobs.weather.hours import Span
from jobs.weather.limits import Limit, Measure, broken, check_limits, unknown
from jobs.weather.reading import read_window, warned

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobs.trade.library import WeatherClass
    from jobs.weather.hours import Alert, Hours

MM_PER_IN = 25.4
MS_PER_MPH = 0.44704
KMH_PER_MS = 3.6
TRACE_MM_H = 0.1
"""Less than this an hour is no rain: a service's smallest amount, 0.01 in, spread over hours."""
STRONGEST_WIND_MPH = 35
"""Nobody works outdoors above it (common practice)."""
FREEZING_C = 0.0
CONCRETE = "W4"
COVERED_AFTER = frozenset({"W5"})
"""Fresh mortar is covered every evening, come what may, so that rain after it costs nothing."""
LOOK_H = 72
"""Hours before and after a slot in which rain is looked for."""
THUNDER_WORDS = ("thunderstorm", "tornado", "lightning")
"""Alerts that mean thunder (National Weather Service names of events)."""
REST = timedelta(minutes=30)


def celsius(fahrenheit: float) -> float:
    """Return Celsius of Fahrenheit."""
    return (fahrenheit - 32) / 1.8


def fahrenheit(celsius: float) -> float:
    """Return Fahrenheit of Celsius."""
    return celsius * 1.8 + 32


def limits_of(*classes: WeatherClass, wind_mph: float | None = None) -> tuple[Limit, ...]:
    """Return the limits of some classes of work together, in the order in which they are told.

    Parameters
    ----------
    wind_mph
        A lower wind limit of the work's own.

    Raises
    ------
    WeatherError
        If the classes leave no temperature to work in.
    """
    found = [limit for one in classes for limit in _class_limits(one)]
    if wind_mph is not None:
        found.append(Limit(Measure.WIND, float(wind_mph) * MS_PER_MPH, over=True))
    if any(one.wind_mph is not None for one in classes):
        found.append(Limit(Measure.THUNDER, 0.0, over=True))
        found.append(Limit(Measure.WIND, STRONGEST_WIND_MPH * MS_PER_MPH, over=True))
        found.append(Limit(Measure.HEAT_INDEX, cautions.HEAVY_STOP_INDEX, over=True))
    order = list(Measure)
    return check_limits(sorted(set(found), key=lambda it: (order.index(it.measure), it.figure)))


def _class_limits(one: WeatherClass) -> list[Limit]:
    """Limits of one class, in SI."""
    after = None if one.key in COVERED_AFTER else one.dry_after_h
    rows = (
        (Measure.RAIN_RATE, one.rain_in_per_h, MM_PER_IN, True),
        (Measure.RAIN_DAY, one.rain_in_per_day, MM_PER_IN, True),
        (Measure.DRY_BEFORE, one.dry_before_h, 1.0, False),
        (Measure.DRY_AFTER, after, 1.0, False),
        (Measure.STORM_AFTER, one.storm_in, MM_PER_IN, True),
        (Measure.WIND, one.wind_mph, MS_PER_MPH, True),
        (Measure.EVAPORATION, one.evaporation_max, 1.0, True),
    )
    found = [
        Limit(m, max(float(x) * k, _floor(m)), over) for m, x, k, over in rows if x is not None
    ]
    for measure, degrees, over in (
        (Measure.COLD, one.air_min_f, False),
        (Measure.HOT, one.air_max_f, True),
        (Measure.SOIL, one.soil_min_f, False),
    ):
        if degrees is not None:
            found.append(Limit(measure, celsius(float(degrees)), over))
    if one.hot_wind_mph is not None and one.hot_f is not None:
        given = (Measure.HOT, celsius(float(one.hot_f)))
        found.append(Limit(Measure.WIND, float(one.hot_wind_mph) * MS_PER_MPH, True, given))  # noqa: FBT003 - over
    if one.needs_dry_ground:
        found.append(Limit(Measure.DRYING, 0.0, over=True))
    if one.key == CONCRETE:
        found.append(Limit(Measure.NIGHT, FREEZING_C, over=False))
    return found


def _floor(measure: Measure) -> float:
    """A rate of no rain at all is less than a trace."""
    return TRACE_MM_H if measure is Measure.RAIN_RATE else 0.0


# -- a forecast's slot ---------------------------------------------------------------------


def slot_conditions(
    hours: Hours, alerts: Sequence[Alert], slot: Span, day: Span, *, drying: float | None = None
) -> Mapping[Measure, float | None]:
    """Return the measures of a slot by forecast; None where it does not say.

    Rain counts where it is likelier than not, or where nobody says how likely it is.

    Parameters
    ----------
    day
        The local day of the slot.
    drying
        Hours until the ground has dried, from rain seen before.
    """
    read = read_window(hours, slot)
    night = hours.temperature.least(Span(slot.begin, slot.end + 24 * 60))
    wind = None if read.wind_max_kmh is None else read.wind_max_kmh / KMH_PER_MS
    rain = hours.likely.total(slot)
    return {
        Measure.THUNDER: float(_thunder(alerts, slot)),
        Measure.RAIN_RATE: None if rain is None else rain / (slot.minutes / 60),
        Measure.RAIN_DAY: hours.likely.total(Span(day.begin, slot.end)),
        Measure.DRY_BEFORE: _dry_before(hours, slot),
        Measure.DRY_AFTER: _dry_after(hours, slot),
        Measure.STORM_AFTER: hours.likely.total(Span(slot.end, slot.end + LOOK_H * 60)),
        Measure.WIND: wind,
        Measure.COLD: read.tmin_c,
        Measure.HOT: read.tmax_c,
        Measure.NIGHT: night,
        Measure.HEAT_INDEX: _heat_index(read.tmax_c, read.humidity_pct),
        Measure.DRYING: drying,
        Measure.EVAPORATION: _evaporation(read.tmax_c, read.humidity_pct, wind),
    }


def _wet_hours(hours: Hours, begin: int, end: int, step: int) -> float | None:
    """Hours from an instant to the first hour that rains, looking one way; None if not known."""
    for minutes in range(begin, end, step):
        window = Span(*sorted((minutes, minutes + step)))
        rain = hours.likely.total(window)
        if rain is None:
            return None if minutes == begin else abs(minutes - begin) / 60
        if rain > TRACE_MM_H:
            return abs(minutes - begin) / 60
    return float(LOOK_H)


def _dry_before(hours: Hours, slot: Span) -> float | None:
    return _wet_hours(hours, slot.begin, slot.begin - LOOK_H * 60, -60)


def _dry_after(hours: Hours, slot: Span) -> float | None:
    return _wet_hours(hours, slot.end, slot.end + LOOK_H * 60, 60)


def _thunder(alerts: Sequence[Alert], slot: Span) -> bool:
    """Thunder announced for the slot, or over less than half an hour before it."""
    rest = int(REST.total_seconds()) // 60
    events = warned(alerts, Span(slot.begin - rest, slot.end)).events
    return any(map(is_thunder, events))


def is_thunder(event: str) -> bool:
    """Return True for an alert that means thunder."""
    return any(word in event.lower() for word in THUNDER_WORDS)


def _heat_index(high: float | None, humidity: float | None) -> float | None:
    if high is None or humidity is None:
        return None
    return cautions.heat_index(fahrenheit(high), humidity)


def _evaporation(high: float | None, humidity: float | None, wind: float | None) -> float | None:
    """Off concrete as warm as the air at its warmest."""
    if high is None or humidity is None or wind is None:
        return None
    air = fahrenheit(high)
    return concrete.evaporation(air, air, humidity / 100, wind / MS_PER_MPH)


# -- the answer ----------------------------------------------------------------------------


def why_stopped(limits: Sequence[Limit], seen: Mapping[Measure, float | None]) -> Sentence | None:
    """Return why work with such limits cannot be done in a slot; None if it can."""
    found = broken(limits, seen)
    if found is None:
        return None
    limit = found.limit
    values = {"seen": spoken(limit.measure, found.measured)}
    if limit.measure is Measure.RAIN_RATE and limit.figure <= TRACE_MM_H:
        return Sentence("weather-rain-none", values)
    if limit.measure in _BARE:
        return Sentence(f"weather-{limit.measure}", values)
    return Sentence(
        f"weather-{limit.measure}", values | {"limit": spoken(limit.measure, limit.figure)}
    )


_BARE = frozenset({Measure.THUNDER, Measure.DRYING})


def not_known(limits: Sequence[Limit], seen: Mapping[Measure, float | None]) -> Sentence | None:
    """Return that the forecast leaves rain or wind open, if it does: never silently no rain."""
    open_ones = set(unknown(limits, seen))
    for measure, others in _TOLD_UNKNOWN.items():
        if open_ones & others:
            return Sentence(f"weather-unknown-{measure}")
    return None


_TOLD_UNKNOWN = {
    "rain": {Measure.RAIN_RATE, Measure.RAIN_DAY, Measure.DRY_AFTER, Measure.STORM_AFTER},
    "wind": {Measure.WIND},
    "air": {Measure.COLD, Measure.HOT},
}


def spoken(measure: Measure, figure: float) -> str:
    """Return a figure with its unit as said on a job site: inches, hours, mph, Fahrenheit."""
    match measure:
        case Measure.RAIN_RATE:
            return f"{figure / MM_PER_IN:.2f} in/h"
        case Measure.RAIN_DAY | Measure.STORM_AFTER:
            return f"{figure / MM_PER_IN:.2f} in"
        case Measure.WIND:
            return f"{figure / MS_PER_MPH:.0f} mph"
        case Measure.COLD | Measure.HOT | Measure.NIGHT | Measure.SOIL:
            return f"{fahrenheit(figure):.0f} F"
        case Measure.HEAT_INDEX:
            return f"{figure:.0f} F"
        case Measure.EVAPORATION:
            return f"{figure:.2f} lb/ft2/h"
        case _:
            return f"{figure:.0f} h"
