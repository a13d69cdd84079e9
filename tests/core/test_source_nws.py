"""Answers of the US National Weather Service: parsed, bounded, never silently no rain."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from jobs.weather.climate import Spot
from jobs.weather.errors import WeatherError
from jobs.weather.hours import Hours, Layer, Piece, Span, minute
from jobs.weather.reading import Warned, alert_days, read_window, stale, warned
from jobs.weather.sources import SOURCES, USUAL, nws
from jobs.weather.sources.source import BadAnswer

JUNE = "2026-06-01T06:00:00+00:00"


def answer(**layers: object) -> bytes:
    """Return a gridpoint answer of 1 to 7 June 2026 with some layers."""
    properties = {"updateTime": JUNE, "validTimes": f"{JUNE}/P7D", **layers}
    return json.dumps({"properties": properties}).encode()


def layer(
    *values: object, uom: str = "wmoUnit:mm", time: str = f"{JUNE}/PT6H"
) -> dict[str, object]:
    """Return a layer whose values all stand in the same six hours."""
    return {"uom": uom, "values": [{"validTime": time, "value": value} for value in values]}


def window(begin: str, hours: int) -> Span:
    """Return a span from an instant on."""
    first = minute(datetime.fromisoformat(begin))
    return Span(first, first + hours * 60)


def test_a_three_day_total_is_spread_evenly() -> None:
    """18 mm in 72 h are 0.5 mm in 2 h (weather-gov/api issue 21: totals for each valid period)."""
    hours = nws.read_hours(answer(quantitativePrecipitation=layer(18.0, time=f"{JUNE}/PT72H")))
    assert hours.rain.total(window("2026-06-02T13:00:00+00:00", 2)) == pytest.approx(0.5)


def test_unknown_rain_is_not_no_rain() -> None:
    """A null leaves the window uncovered and the amount unknown."""
    hours = nws.read_hours(answer(quantitativePrecipitation=layer(None)))
    read = read_window(hours, window(JUNE, 6))
    assert (read.rain_mm, read.rain_cover) == (None, 0.0)


@pytest.mark.parametrize("value", [-1, 1e9, "2", True, [3], float("nan"), float("inf")])
def test_rain_that_cannot_be_is_left_out_and_told(value: object) -> None:
    """It counts as unknown, and the remark says how many."""
    hours = nws.read_hours(answer(quantitativePrecipitation=layer(value)))
    assert hours.rain == Layer()
    assert hours.remarks == ("1 values of quantitativePrecipitation cannot be and were left out",)


def test_units_are_turned_into_ours() -> None:
    """50 F are 10 C; 10 m/s are 36 km/h."""
    hours = nws.read_hours(
        answer(temperature=layer(50, uom="wmoUnit:degF"), windSpeed=layer(10, uom="wmoUnit:m_s-1"))
    )
    assert hours.temperature.most(window(JUNE, 6)) == pytest.approx(10)
    assert hours.wind.most(window(JUNE, 6)) == pytest.approx(36)


@pytest.mark.parametrize(
    "odd", [layer(1, uom="wmoUnit:furlong"), {"uom": "wmoUnit:mm"}, "rain", {"values": [1]}]
)
def test_a_layer_of_another_shape_is_left_out(odd: object) -> None:
    """The rest of the answer is read."""
    hours = nws.read_hours(
        answer(quantitativePrecipitation=odd, temperature=layer(20, uom="wmoUnit:degC"))
    )
    assert (hours.rain, hours.usable) == (Layer(), True)


@pytest.mark.parametrize(
    "time",
    ["", "yesterday/PT6H", f"{JUNE}/6 hours", f"{JUNE}/PT0H", f"{JUNE}/P999999999999D", None, 7],
)
def test_an_interval_that_cannot_be_read_covers_nothing(time: str) -> None:
    """Neither do intervals of no length and of more days than there are."""
    hours = nws.read_hours(answer(quantitativePrecipitation=layer(3.0, time=time)))
    assert hours.rain == Layer()


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        (b"<html>blocked</html>", "not_json"),
        (b"\xff\xfe", "not_json"),
        (b"", "not_json"),
        (b"[" * 100_000, "not_json"),
        (b"[]", "unknown"),
        (b"{}", "unknown"),
        (b'{"properties": 3}', "unknown"),
        (b'{"properties": {}}', "unknown"),
        (b'{"properties": {"validTimes": "2026-06-01T06:00:00Z/PT0H"}}', "unknown"),
        (b'{"status": 503, "title": "Service Unavailable"}', "error"),
    ],
)
def test_what_is_no_forecast_is_told_by_kind(body: bytes, kind: str) -> None:
    """A page, a stump, a list, a problem of the service: each says what it is."""
    with pytest.raises(BadAnswer) as error:
        nws.read_hours(body)
    assert error.value.kind == kind


def test_a_place_the_service_does_not_know_is_told() -> None:
    """And so is an answer without alerts, and an address on no host."""
    with pytest.raises(BadAnswer, match="does not know where"):
        nws.read_where(answer())
    with pytest.raises(BadAnswer, match="does not know where"):
        nws.read_where(answer(gridId="X", gridX=1, gridY=2, forecastGridData="file:/etc/passwd"))
    with pytest.raises(BadAnswer, match="holds no alerts"):
        nws.read_alerts(b"{}")


def test_paths_have_four_decimals_at_most() -> None:
    """The service redirects longer ones."""
    assert nws.where(Spot(38.5, -121.123456)) == "/points/38.5,-121.1235"
    assert nws.alerts(Spot(40.0, -80.0)) == "/alerts/active?point=40,-80"


def test_alerts_without_a_time_are_left_out() -> None:
    """The others are kept; unknown words for severity count least."""
    told = [
        {"event": "Odd", "status": "Actual"},
        {"event": "Wind", "severity": "Dreadful", "status": "Actual", "onset": JUNE, "ends": JUNE[:11] + "09:00:00+00:00"},
        {"event": "Flood", "severity": "Minor", "status": "Actual", "onset": JUNE, "ends": JUNE[:11] + "09:00:00+00:00"},
    ]  # fmt: skip
    read = nws.read_alerts(json.dumps({"features": [{"properties": p} for p in told]}).encode())
    assert [alert.event for alert in read] == ["Wind", "Flood"]
    assert warned(read, window(JUNE, 1)) == Warned("Minor", ("Flood", "Wind"))


def test_no_alerts_still_have_a_today() -> None:
    """The list of days is today alone."""
    now = datetime(2026, 6, 1, 12, tzinfo=UTC)
    assert alert_days((), now, ZoneInfo("America/Chicago")) == (date(2026, 6, 1),)
    assert warned((), window(JUNE, 1)) == Warned(None, ())


@pytest.mark.parametrize(
    ("made", "old"), [("08:00", False), ("13:30", True), (None, True), ("12:30", False)]
)
def test_a_forecast_from_the_future_is_as_bad_as_an_old_one(made: str | None, old: bool) -> None:  # noqa: FBT001
    """Noon now: made at 8 is fine, made at 13:30 means a wrong clock, half an hour is let pass."""
    updated = None if made is None else datetime.fromisoformat(f"2026-06-02T{made}:00+00:00")
    hours = Hours(updated, window(JUNE, 48))
    assert stale(hours.age_hours(datetime(2026, 6, 2, 12, tzinfo=UTC))) is old


def test_a_day_old_forecast_is_stale() -> None:
    """From 24 h on."""
    assert (stale(23.9), stale(24.0)) == (False, True)


def test_overlapping_pieces_cover_once() -> None:
    """Two pieces of the same six hours cover them, not more."""
    piece = Piece(window(JUNE, 6), 1.0)
    assert Layer((piece, piece)).cover(window(JUNE, 12)) == pytest.approx(0.5)


def test_a_forecast_of_no_time_is_refused() -> None:
    """It could say nothing."""
    with pytest.raises(WeatherError, match="covers no time"):
        Hours(None, Span(5, 5))


def test_the_usual_source_is_in_the_table() -> None:
    """Its credit is said below every forecast."""
    assert SOURCES[USUAL].credit == "Forecast: US National Weather Service, public domain"
