"""Monthly climate, the nearest place, and rain made of it."""

from __future__ import annotations

from datetime import date
from math import exp, inf, nan

import pytest

from jobs.weather.chain import Chain, chain_of
from jobs.weather.climate import (
    Month,
    MonthlyClimate,
    Near,
    Spot,
    by_name,
    kilometres,
    nearest,
    season_of,
)
from jobs.weather.errors import BadPlace, WeatherError
from jobs.weather.rain import Rain, Remembered, memory_at, rain_of_month_figures

JULY = Month(30.0, 20.0, 100.0, 6.2, 3.1)


def place(
    name: str, lat: float, lon: float, up: float = 0.0, month: Month = JULY
) -> MonthlyClimate:
    """Return a place with twelve times the same month."""
    return MonthlyClimate(name.upper(), name, "ZZ", Spot(lat, lon, up), (month,) * 12)


def test_a_degree_of_latitude_is_111_kilometres() -> None:
    """The earth's radius of 6,371 km times pi / 180."""
    assert kilometres(Spot(40, -80), Spot(41, -80)) == pytest.approx(111.19, abs=0.01)


def test_the_nearest_place_is_the_nearest() -> None:
    """A yard at 40 north is nearer to 40.5 than to 42."""
    near = nearest([place("far", 42, -80), place("close", 40.5, -80)], Spot(40, -80))
    assert [it.climate.name for it in near] == ["close", "far"]


def test_height_counts_as_distance() -> None:
    """1,000 m higher counts 300 km: a place 111 km off in the valley is nearer than the peak 11 km off."""
    places = [place("peak", 40.1, -80, up=1000), place("valley", 41, -80)]
    near = nearest(places, Spot(40, -80, 0.0))
    assert [it.climate.name for it in near] == ["valley", "peak"]


def test_a_yard_of_unknown_height_goes_by_distance_alone() -> None:
    """The peak 11 km off then wins."""
    places = [place("peak", 40.1, -80, up=1000), place("valley", 41, -80)]
    assert nearest(places, Spot(40, -80))[0].climate.name == "peak"


def test_a_yard_1000_m_above_its_place_is_six_and_a_half_degrees_cooler() -> None:
    """0.0065 degrees a metre (ICAO standard atmosphere)."""
    near = nearest([place("valley", 40, -80)], Spot(40, -80, 1000.0))[0]
    assert near.cooler == pytest.approx(6.5)


def test_figures_from_afar_are_less_sure() -> None:
    """0.0006 a kilometre, 0.6 at most; a page says so from 150 km."""
    climate = place("far", 40, -80)
    assert [(Near(climate, km, 0).far, Near(climate, km, 0).strange) for km in (0, 500, 5000)] == [
        (False, 0),
        (True, pytest.approx(0.3)),
        (True, 0.6),
    ]


@pytest.mark.parametrize("spot", [Spot(91, 0), Spot(0, 181), Spot(nan, 0), Spot(0, 0, inf)])
def test_a_position_that_is_nowhere_is_refused(spot: Spot) -> None:
    """Nonsense coordinates are told, not taken."""
    with pytest.raises(BadPlace, match="nowhere on the earth"):
        nearest([place("close", 40, -80)], spot)


def test_no_places_at_all_are_told() -> None:
    """An empty table is no climate."""
    with pytest.raises(BadPlace, match="load the climate tables"):
        nearest([], Spot(40, -80))


def test_a_place_is_found_by_name_state_or_station() -> None:
    """Capitals do not matter, and the beginning of a name is enough."""
    places = [place("Bend", 44, -121), place("Eugene", 44, -123)]
    assert [by_name(places, name).name for name in ("bend", "Eugene, ZZ", "EUGENE")] == [
        "Bend",
        "Eugene",
        "Eugene",
    ]


def test_a_name_of_two_places_asks_for_the_state() -> None:
    """Portland is in Oregon and in Maine."""
    two = [place("Portland", 45, -122), place("Portland", 43, -70)]
    with pytest.raises(BadPlace, match="give the state"):
        by_name(two, "portland")
    with pytest.raises(BadPlace, match="no place called 'Nowhere'"):
        by_name(two, "Nowhere")


@pytest.mark.parametrize(
    "month",
    [
        JULY._replace(wet_days=32.0),
        JULY._replace(heavy_days=7.0),
        JULY._replace(tmin_c=31.0),
        JULY._replace(precip_mm=-1.0),
    ],
)
def test_a_month_that_cannot_be_is_refused(month: Month) -> None:
    """More wet days than days, more heavy than wet, low above high, rain below nothing."""
    with pytest.raises(WeatherError, match="cannot be"):
        place("odd", 40, -80, month=month)


def test_a_year_of_eleven_months_is_refused() -> None:
    """All twelve or none."""
    with pytest.raises(WeatherError, match="11 months"):
        MonthlyClimate("X", "short", "ZZ", Spot(0, 0), (JULY,) * 11)


def test_the_middle_of_a_month_is_a_half() -> None:
    """Noon of 15 June (of 30 days) is 14.5 / 30 into the month."""
    assert season_of(date(2026, 6, 15)) == pytest.approx(5 + 14.5 / 30)
    assert season_of(date(2026, 12, 31)) == pytest.approx(11 + 30.5 / 31)


def test_rain_of_month_figures_is_share_and_memory() -> None:
    """6.2 wet days of 31 are a share of 0.2; half of them heavy."""
    rain = rain_of_month_figures(
        place("x", 40, -80), {"DJF": 0.1, "MAM": 0.2, "JJA": 0.3, "SON": 0.4}, 0.2
    )
    assert rain.chains[6].wet_share == pytest.approx(0.2)
    assert [round(rain.chains[m].memory, 6) for m in (0, 3, 6, 9)] == [0.1, 0.2, 0.3, 0.4]
    assert rain.heavy[6] == pytest.approx(0.5)
    assert rain.spread == 0.2


def test_chances_that_were_counted_are_kept() -> None:
    """A place with its own chances needs no usual memory."""
    counted = JULY._replace(after_dry=0.2, after_wet=0.6)
    assert rain_of_month_figures(place("x", 40, -80, month=counted)).chains[0] == Chain(0.2, 0.6)


def test_a_month_without_wet_days_in_the_tables_may_still_see_one() -> None:
    """July in Sacramento: 0.0 wet days in 15 years is not never."""
    dry = JULY._replace(wet_days=0.0, heavy_days=0.0)
    assert rain_of_month_figures(place("x", 40, -80, month=dry)).chains[
        6
    ].wet_share == pytest.approx(0.002)


def test_rain_of_a_wet_day_passes_through_both_limits() -> None:
    """Exponential above 2.54 mm with half of the days at 12.7 mm: P(excess > 10.16) = 0.5."""
    rain = rain_of_month_figures(place("x", 40, -80))
    assert exp(-10.16 / rain.excess_mm(6)) == pytest.approx(0.5)


def test_less_sure_rain_has_the_same_share_and_a_wider_spread() -> None:
    """Spreads add as squares: 0.15 and 0.2 are 0.25."""
    rain = rain_of_month_figures(place("x", 40, -80), spread=0.15)
    assert rain.widened(0.2) == Rain(rain.chains, rain.heavy, 0.25)


def test_memory_between_records_leans_to_the_nearer_one() -> None:
    """On the spot of a record it counts 1 against half a usual one (JJA 0.16)."""
    record = Remembered(Spot(40, -80), {"DJF": 0.3, "MAM": 0.3, "JJA": 0.34, "SON": 0.3})
    assert memory_at(Spot(40, -80), [record])["JJA"] == pytest.approx((0.34 + 0.5 * 0.16) / 1.5)
    assert memory_at(Spot(-40, 100), [record])["JJA"] == pytest.approx(0.16, abs=1e-6)


@pytest.mark.parametrize(
    ("chains", "heavy", "spread"), [(11, 12, 0.1), (12, 11, 0.1), (12, 12, -0.1)]
)
def test_rain_of_other_than_twelve_months_is_refused(
    chains: int, heavy: int, spread: float
) -> None:
    """Twelve chains, twelve shares, a spread of zero or more."""
    with pytest.raises(WeatherError, match="twelve"):
        Rain((chain_of(0.2, 0.1),) * chains, (0.3,) * heavy, spread)
