"""Outside figures about weather and what it does: temperature, wind, water, drying, days lost."""

from __future__ import annotations

import pytest

from jobs.trade import cautions, concrete
from jobs.weather import feel, lost_days
from jobs.weather.errors import WeatherError
from jobs.weather.maturity import Step, age_factor, equivalent_age, warmth


@pytest.mark.parametrize(
    ("steps", "datum", "worth"),
    [
        ([Step(12, 20), Step(12, 25)], 0.0, 540),
        ([Step(28, 15)], -11.0, 728),
        ([Step(10, 5), Step(6, -3)], 0.0, 50),
    ],
)
def test_temperature_time_factor(steps: list[Step], datum: float, worth: float) -> None:
    """Degree hours (or days) over a datum; below it nothing. Source: Nurse, Saul; ASTM C1074."""
    assert warmth(steps, datum) == pytest.approx(worth, abs=1e-9)


@pytest.mark.parametrize(
    ("celsius", "factor"), [(10, 0.5475), (30, 1.7553), (5, 0.3986), (35, 2.2939), (20, 1.0)]
)
def test_age_conversion_against_20_degrees(celsius: float, factor: float) -> None:
    """Q of 5,000 K. Source: ASTM C1074; Carino 1984 (from memory)."""
    assert age_factor(celsius) == pytest.approx(factor, abs=1e-4)


def test_equivalent_age_adds_up() -> None:
    """12 h at 20 C and 12 h at 30 C are 12 + 12 x 1.7553 h at 20 C (arithmetic)."""
    assert equivalent_age([Step(12, 20), Step(12, 30)]) == pytest.approx(33.063, abs=0.002)


@pytest.mark.parametrize(
    ("days", "share"),
    [(1, 0.2062), (3, 0.458), (7, 0.7035), (14, 0.8805), (28, 1.0072), (56, 1.0853), (90, 1.118)],
)
def test_share_of_28_day_strength(days: float, share: float) -> None:
    """Type I, moist cured: t / (4 + 0.85 t). Source: ACI 209R-92 (from memory)."""
    assert concrete.strength(days) == pytest.approx(share, abs=1e-4)


@pytest.mark.parametrize(
    ("given", "pounds"),
    [
        ((80, 80, 0.5, 10), 0.1431),
        ((90, 95, 0.3, 15), 0.3532),
        ((60, 40, 0.4, 12), 0.1383),
        ((70, 80, 0.7, 7), 0.0035),
    ],
)
def test_evaporation_inch_pound(given: tuple[float, float, float, float], pounds: float) -> None:
    """Concrete F, air F, humidity, mph. Source: Uno 1998, ACI Materials Journal 95-M34 (from memory)."""
    assert feel.evaporation_us(*given) == pytest.approx(pounds, abs=5e-5)


@pytest.mark.parametrize(
    ("given", "kilograms"),
    [
        ((25, 25, 0.5, 10), 0.4244),
        ((32, 35, 0.3, 24), 1.616),
        ((26.67, 26.67, 0.5, 16.09), 0.6698),
    ],
)
def test_evaporation_si(given: tuple[float, float, float, float], kilograms: float) -> None:
    """Concrete C, air C, humidity, km/h. Source: Uno 1998, ACI Materials Journal 95-M34."""
    assert feel.evaporation_si(*given) == pytest.approx(kilograms, abs=5e-5)


def test_condensation_is_no_evaporation() -> None:
    """Cool concrete in damp warm air: the formula goes negative, the answer is nothing."""
    assert (feel.evaporation_us(50, 90, 0.9, 5), feel.evaporation_si(10, 32, 0.9, 8)) == (0, 0)


def test_the_warning_comes_from_whichever_form_says_so_first() -> None:
    """0.2 lb/ft2/h or 1.0 kg/m2/h (ACI 305R): 90/95 F, 30 %, 15 mph warns; 70/80 F, 70 %, 7 mph does not."""
    assert (feel.WARN_LB_FT2_H, feel.WARN_KG_M2_H) == (0.2, 1.0)
    assert feel.must_guard(90, 95, 0.3, 15)
    assert not feel.must_guard(70, 80, 0.7, 7)


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
    """Hours or slots. Source: ER 415-1-15 (31 Oct 1989), 50 % or more (from memory)."""
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


def test_a_day_on_which_six_in_ten_could_work_is_charged() -> None:
    """Crew and plant at 60 % or more. Source: state road manual."""
    assert (lost_days.is_charged(0.6), lost_days.is_charged(0.59)) == (True, False)
