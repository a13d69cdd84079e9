"""What the forecast asks of concrete and masonry on the day they are worked, in plain sentences.

Told is the stricter of two readings of cold: any hour below 40 F while concrete is protected; that the older
one, of days' means, holds as well is said, since contracts name either.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from jobs.trade import wet_trades as air
from jobs.trade.work import Sentence
from jobs.weather.hours import Span
from jobs.weather.reading import day_span, read_day, read_slots

from .limits import CONCRETE, KMH_PER_MS, MS_PER_MPH, celsius, fahrenheit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from collections.abc import Set as AbstractSet
    from datetime import date
    from zoneinfo import ZoneInfo

    from jobs.weather.hours import Hours

MASONRY = "W5"
PROTECTED_DAYS = 3
"""Days fresh concrete is protected from cold (ACI 306R, from memory: two to three)."""
LOOKED_AT_DAYS = 6
"""Days of the forecast in which a cold spell is looked for."""
WHOLE = 0.9
"""Least share of a day that must be known."""


def trade_cautions(
    hours: Hours, day: date, zone: ZoneInfo, classes: AbstractSet[str]
) -> Iterator[Sentence]:
    """Give what the day's concrete and masonry ask for.

    Parameters
    ----------
    classes
        Weather classes of the works of that day.
    """
    if CONCRETE in classes:
        yield from _concrete(hours, day, zone)
    if MASONRY in classes:
        yield from _masonry(hours, day, zone)


def _concrete(hours: Hours, day: date, zone: ZoneInfo) -> Iterator[Sentence]:
    ends = day_span(day + timedelta(days=PROTECTED_DAYS - 1), zone).end
    low = hours.temperature.least(Span(day_span(day, zone).begin, ends))
    if low is None or not air.is_cold(fahrenheit(low)):
        return
    told = {"low": f"{fahrenheit(low):.0f} F"}
    ahead = (day + timedelta(days=n) for n in range(LOOKED_AT_DAYS))
    known = [read for one in ahead if (read := day_air(hours, one, zone)) is not None]
    spell = air.is_cold_spell(known)
    yield Sentence("weather-concrete-cold-spell" if spell else "weather-concrete-cold", told)


def _masonry(hours: Hours, day: date, zone: ZoneInfo) -> Iterator[Sentence]:
    reads = read_slots(hours, day, zone)
    lows = [fahrenheit(read.tmin_c) for read in reads if read.tmin_c is not None]
    if lows and air.is_cold(min(lows)):
        yield Sentence("weather-masonry-cold", {"low": f"{min(lows):.0f} F"})
    whole = day_air(hours, day, zone)
    if whole is not None and air.is_protected(whole):
        yield Sentence("weather-masonry-mean", {"mean": f"{whole.mean:.0f} F"})
    hot = [
        (fahrenheit(read.tmax_c), (read.wind_max_kmh or 0.0) / KMH_PER_MS / MS_PER_MPH)
        for read in reads
        if read.tmax_c is not None
    ]
    told = {"most": f"{air.MORTAR_HOTTEST_F} F"}
    if any(air.is_shaded(*one) for one in hot):
        yield Sentence("weather-masonry-shade", told)
    elif any(air.is_hot(*one) for one in hot):
        yield Sentence("weather-masonry-hot", told)


def day_air(hours: Hours, day: date, zone: ZoneInfo) -> air.DayAir | None:
    """Return the air of a local day; None where the forecast leaves it open."""
    read = read_day(hours, day, zone)
    if read.tmin_c is None or read.tmax_c is None or read.temp_cover < WHOLE:
        return None
    starts = range(read.span.begin, read.span.end, 60)
    lows = [hours.temperature.least(Span(at, at + 60)) for at in starts]
    warm = sum(low is not None and low > celsius(air.WARM_F) for low in lows) / len(lows)
    return air.DayAir(fahrenheit(read.tmax_c), fahrenheit(read.tmin_c), warm)
