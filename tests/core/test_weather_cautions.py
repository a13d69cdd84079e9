"""What the weather of a day asks people to mind."""

from __future__ import annotations

from datetime import date, time
from zoneinfo import ZoneInfo

import pytest

from jobs.scheduling.sky.cautions import day_cautions
from jobs.services.telling.words import say
from jobs.weather.hours import Alert, Hours, Layer, Piece
from jobs.weather.reading import clock_span, day_span

ZONE = ZoneInfo("America/New_York")
DAY = date(2026, 6, 18)
WHOLE = day_span(DAY, ZONE)


def forecast(celsius: float, humidity: float = 50.0, kmh: float = 5.0) -> Hours:
    """Return a day of one temperature, humidity and wind."""
    air, damp, wind = (Layer((Piece(WHOLE, value),)) for value in (celsius, humidity, kmh))
    return Hours(None, WHOLE, temperature=air, humidity=damp, wind=wind)


def told(hours: Hours, *alerts: Alert) -> list[str]:
    """Return the keys of what is told."""
    return [sentence.key for sentence in day_cautions(hours, alerts, DAY, ZONE)]


@pytest.mark.parametrize(
    ("celsius", "humidity", "key"),
    [
        (24.0, 50.0, []),
        (32.2, 50.0, ["weather-heat-moderate"]),
        (37.8, 40.0, ["weather-heat-high"]),
        (35.6, 65.0, ["weather-heat-very-high"]),
    ],
)
def test_heat_is_told_by_its_band(celsius: float, humidity: float, key: list[str]) -> None:
    """90 F and 50 % feel like 95, 100 F and 40 % like 109, 96 F and 65 % like 121 (NWS; bands OSHA)."""
    assert told(forecast(celsius, humidity)) == key


def test_frost_and_storm_are_told() -> None:
    """Down to 30 F in working hours; 60 km/h are 37 mph, in which it feels like 15."""
    assert told(forecast(-1.0, kmh=60.0)) == [
        "weather-frost",
        "weather-chill",
        "weather-storm-wind",
    ]


def test_alerts_of_working_hours_come_first_worst_first() -> None:
    """One in the night is left out, one cancelled too; until when is told on the yard's clock."""

    def alert(event: str, severity: str, begin: int, end: int, *, counts: bool = True) -> Alert:
        return Alert(event, severity, clock_span(DAY, time(begin), DAY, time(end), ZONE), counts)

    alerts = (
        alert("Heat Advisory", "Moderate", 12, 20),
        alert("Severe Thunderstorm Watch", "Severe", 13, 19),
        alert("Frost Advisory", "Minor", 1, 5),
        alert("Flood Warning", "Extreme", 8, 12, counts=False),
    )
    found = day_cautions(forecast(20.0), alerts, DAY, ZONE)
    assert [say(sentence) for sentence in found] == [
        "Severe Thunderstorm Watch until Thu 18 Jun, 7:00 pm.",
        "Heat Advisory until Thu 18 Jun, 8:00 pm.",
        "Thunder near: stop, take shelter, and wait 30 minutes after the last of it.",
    ]


@pytest.mark.parametrize(
    ("state", "fahrenheit", "key"),
    [
        ("CA", 80, []),
        ("CA", 81, ["weather-california-shade"]),
        ("CA", 94, ["weather-california-shade"]),
        ("CA", 95, ["weather-california-high-heat"]),
        ("NC", 95, []),
    ],
)
def test_california_asks_for_shade_and_high_heat_steps(
    state: str, fahrenheit: float, key: list[str]
) -> None:
    """Above 80 F and from 95 F (8 CCR 3395(d), (e)); dry air, so that no heat band is reached."""
    hours = forecast((fahrenheit - 32) / 1.8, humidity=5.0)
    found = [s.key for s in day_cautions(hours, (), DAY, ZONE, state)]
    assert [one for one in found if "california" in one] == key


def test_a_cold_wind_asks_for_breaks_in_the_warm() -> None:
    """25 F in a wind of 15 mph feels like 13 (US National Weather Service chart); 34 F calm does not."""
    found = day_cautions(forecast(-3.89, kmh=24.14), (), DAY, ZONE)
    assert say(found[-1]).startswith("It will feel like 13 F in the wind")
    assert told(forecast(1.0, kmh=1.0)) == []


def test_an_unknown_day_asks_for_nothing_it_does_not_know() -> None:
    """No layers: no heat, no frost, no wind."""
    assert told(Hours(None, WHOLE)) == []
