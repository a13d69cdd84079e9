"""What the weather of a day asks people to mind: heat, thunder, frost, wind, in plain sentences.

Reminders that defer to law, local rule and the person in charge on site.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.trade import cautions
from jobs.trade.work import Sentence
from jobs.weather.feel import wind_chill
from jobs.weather.hours import moment
from jobs.weather.reading import rank, read_slots, slot_spans

from .limits import KMH_PER_MS, MS_PER_MPH, STRONGEST_WIND_MPH, fahrenheit, is_thunder
from .wet_trades import trade_cautions

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from collections.abc import Set as AbstractSet
    from datetime import date
    from zoneinfo import ZoneInfo

    from jobs.weather.hours import Alert, Hours

FREEZING_C = 0.0
CHILL_F = 20.0
"""Wind chill from which breaks in the warm are told (common practice)."""
CALIFORNIA = "CA"
HEAT_WORDS = {
    cautions.Heat.MODERATE: "weather-heat-moderate",
    cautions.Heat.HIGH: "weather-heat-high",
    cautions.Heat.VERY_HIGH: "weather-heat-very-high",
}


def day_cautions(
    hours: Hours,
    alerts: Sequence[Alert],
    day: date,
    zone: ZoneInfo,
    us_state: str = "",
    *,
    classes: AbstractSet[str] = frozenset(),
) -> tuple[Sentence, ...]:
    """Return what a working day asks for, alerts first, worst first.

    Parameters
    ----------
    us_state
        Where a state has a heat rule of its own that we know (CA: 8 CCR 3395), it is told, too.
    classes
        Weather classes of the works of that day: concrete and masonry ask for steps of their own.
    """
    return (
        *_alerts(alerts, day, zone),
        *_heat(hours, day, zone),
        *(_california(hours, day, zone) if us_state == CALIFORNIA else ()),
        *_air(hours, day, zone),
        *trade_cautions(hours, day, zone, classes),
    )


def _alerts(alerts: Sequence[Alert], day: date, zone: ZoneInfo) -> Iterator[Sentence]:
    """Alerts that hold in the working hours, until when."""
    spans = slot_spans(day, zone)
    held = [a for a in alerts if a.counts and any(a.span.shared(span) for span in spans)]
    for alert in sorted(held, key=lambda it: (-rank(it.severity), it.span)):
        until = moment(alert.span.end).astimezone(zone).isoformat()
        yield Sentence("weather-alert", {"event": alert.event, "until": until})
    if any(is_thunder(alert.event) for alert in held):
        yield Sentence("weather-thunder")


def _heat(hours: Hours, day: date, zone: ZoneInfo) -> Iterator[Sentence]:
    """Worst heat index of the day's slots and its band; full sun adds up to 15 degrees."""
    indices = [
        cautions.heat_index(fahrenheit(read.tmax_c), read.humidity_pct)
        for read in read_slots(hours, day, zone)
        if read.tmax_c is not None and read.humidity_pct is not None
    ]
    worst = max(indices, default=0.0)
    key = HEAT_WORDS.get(cautions.heat_band(worst))
    if key is not None:
        yield Sentence(key, {"index": f"{worst:.0f} F"})


def _california(hours: Hours, day: date, zone: ZoneInfo) -> Iterator[Sentence]:
    """Shade and high-heat steps by the air's own temperature (8 CCR 3395(d), (e))."""
    reads = read_slots(hours, day, zone)
    high = max((fahrenheit(r.tmax_c) for r in reads if r.tmax_c is not None), default=0.0)
    if cautions.high_heat_steps(high):
        yield Sentence("weather-california-high-heat")
    elif cautions.shade_up(high):
        yield Sentence("weather-california-shade")


def _air(hours: Hours, day: date, zone: ZoneInfo) -> Iterator[Sentence]:
    reads = read_slots(hours, day, zone)
    cold = min((r.tmin_c for r in reads if r.tmin_c is not None), default=None)
    wind = max((r.wind_max_kmh for r in reads if r.wind_max_kmh is not None), default=0.0)
    mph = wind / KMH_PER_MS / MS_PER_MPH
    if cold is not None and cold <= FREEZING_C:
        yield Sentence("weather-frost", {"low": f"{fahrenheit(cold):.0f} F"})
    if cold is not None and (chill := wind_chill(fahrenheit(cold), mph)) <= CHILL_F:
        yield Sentence("weather-chill", {"chill": f"{chill:.0f} F"})
    if mph > STRONGEST_WIND_MPH:
        yield Sentence("weather-storm-wind", {"wind": f"{mph:.0f} mph"})
