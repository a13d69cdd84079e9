"""Outside figures about weather and what it does: temperature, wind, water, drying, days lost."""

from __future__ import annotations

import pytest

from jobs.trade import cautions, concrete
from jobs.weather import feel, lost_days
from jobs.weather.errors import WeatherError


@pytest.mark.parametrize(
    ("days", "share"),
    [(1, 0.2062), (3, 0.458), (7, 0.7035), (14, 0.8805), (28, 1.0072), (56, 1.0853), (90, 1.118)],
)
def test_share_of_28_day_strength(days: float, share: float) -> None:
    """Type I, moist cured: t / (4 + 0.85 t). Source: ACI 209R-92 (from memory)."""
    assert concrete.strength(days) == pytest.approx(share, abs=1e-4)


@pytest.mark.parametrize(
    ("air", "humidity", "index"),
    [(96, 65, 121.03), (90, 50, 94.60), (100, 40, 109.26), (95, 10, 89.45), (84, 90, 98.34), (75, 50, 74.78)],
)  # fmt: skip
def test_heat_index_to_a_hundredth(air: float, humidity: float, index: float) -> None:
    """Source: NOAA Weather Prediction Center, The Heat Index Equation (Rothfusz 1990, NWS SR 90-23)."""
    assert cautions.heat_index(air, humidity) == pytest.approx(index, abs=0.01)


@pytest.mark.parametrize(
    ("air", "wind", "chill"), [(0, 15, -19.40), (30, 20, 17.36), (40, 5, 36.47)]
)
def test_wind_chill(air: float, wind: float, chill: float) -> None:
    """Source: US National Weather Service 2001 (from memory); its chart rounds to -19, 17, 36."""
    assert feel.wind_chill(air, wind) == pytest.approx(chill, abs=0.01)


def test_wind_chill_is_the_air_where_it_is_not_defined() -> None:
    """Above 50 F, and below 3 mph."""
    assert (feel.wind_chill(51, 20), feel.wind_chill(20, 2)) == (51, 20)


@pytest.mark.parametrize(
    ("lost", "whole", "counts"), [(4, 8, True), (3.9, 8, False), (2, 4, True), (1, 4, False)]
)
def test_half_a_day_lost_is_a_weather_day(lost: float, whole: float, counts: bool) -> None:  # noqa: FBT001
    """Hours or slots. Source: ER 415-1-15 (31 Oct 1989), 50 % or more (from memory).

    A state road manual charges a day on which crew and plant at 60 % or more could work: by quarters of a
    day that comes to the same, for 3 of 4 are charged and 2 of 4 are not.
    """
    assert lost_days.is_weather_day(lost, whole) is counts


def test_more_than_a_day_cannot_be_lost_of_it() -> None:
    """Nor anything of a day without work."""
    with pytest.raises(WeatherError, match="5 of 4 cannot be lost"):
        lost_days.is_weather_day(5, 4)
    with pytest.raises(WeatherError, match="0 of 0"):
        lost_days.is_weather_day(0, 0)


def test_only_days_beyond_the_expected_are_excusable() -> None:
    """9 lost workdays in a January that is expected to lose 7 leave 2. Source: ER 415-1-15 method."""
    assert (lost_days.excusable(9, 7), lost_days.excusable(5, 7)) == (2, 0)
