"""The sun, the day's curve, and temperatures between places."""

from __future__ import annotations

import pytest

from jobs.weather.errors import WeatherError
from jobs.weather.temperature import (
    Swing,
    Warmth,
    day_curve,
    daylight_hours,
    usual_swings,
)


def test_hours_of_daylight() -> None:
    """20 south on 3 September: 11.7 h (FAO 56, example 9)."""
    assert daylight_hours(-20.0, 246) == pytest.approx(11.7, abs=0.05)


def test_beyond_the_polar_circle_the_sun_stays_up_or_down() -> None:
    """24 h at midsummer, none at midwinter."""
    assert daylight_hours(75.0, 172) == pytest.approx(24.0)
    assert daylight_hours(75.0, 355) == pytest.approx(0.0)


def test_a_day_runs_from_its_low_over_its_high_to_the_next_low() -> None:
    """14 h of light: highest 1.7 h after the middle of the day, lowest at both sunrises."""
    curve = day_curve(10.0, 30.0, 12.0, 14.0)
    assert len(curve) == 24
    assert max(curve) == curve[8]
    assert curve[8] == pytest.approx(30.0, abs=0.2)
    assert curve[0] == pytest.approx(12.3, abs=0.1)
    assert curve[23] == pytest.approx(12.0, abs=1.0)
    assert min(curve) >= 10.0


def test_a_day_without_a_swing_stays_as_it_is() -> None:
    """Low, high and next low of 15 give 15 all day."""
    assert day_curve(15.0, 15.0, 15.0, 12.0) == pytest.approx((15.0,) * 24)


def test_swings_are_those_of_the_nearer_place() -> None:
    """On the spot of one and 5,000 km from the other, the first counts."""
    here, there = (Swing(4, 3, 0.6),) * 12, (Swing(8, 9, 0.9),) * 12
    assert usual_swings([(0.0, here), (5000.0, there)])[0] == pytest.approx((4, 3, 0.6), abs=0.001)


def test_a_year_has_twelve_months_of_temperature() -> None:
    """And somebody must have counted the swings."""
    with pytest.raises(WeatherError, match="twelve months"):
        Warmth((1.0,) * 11, (1.0,) * 12, (Swing(1, 1, 0),) * 12, (3.0,) * 12)
    with pytest.raises(WeatherError, match="load the climate tables"):
        usual_swings([])
