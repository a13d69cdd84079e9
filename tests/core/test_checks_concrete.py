"""Figures from outside about concrete: drying, strength, cure, and when it is in anybody's way."""

from __future__ import annotations

import pytest

from jobs.scheduling.sky.limits import limits_of, why_stopped
from jobs.trade import concrete as c
from jobs.trade.errors import TradeError
from jobs.trade.rules import lag_of
from jobs.trade.work import Sentence
from jobs.weather.limits import Measure
from tests.yards import library


@pytest.mark.parametrize(
    ("concrete", "air", "humidity", "wind", "expected", "within"),
    [
        (85, 80, 0.30, 15, 0.332, 0.005),
        (90, 90, 0.20, 10, 0.294, 0.005),
        (70, 70, 0.50, 10, 0.098, 0.003),
        (70, 50, 0.50, 10, 0.154, 0.004),
        (75, 75, 0.60, 5, 0.056, 0.003),
        (85, 95, 0.25, 12, 0.248, 0.005),
    ],
    ids=["hot and windy", "desert", "mild", "cool air", "calm and damp", "hot dry breeze"],
)
def test_water_leaves_fresh_concrete(
    concrete: float, air: float, humidity: float, wind: float, expected: float, within: float
) -> None:
    """Pounds a square foot and hour. Source: ACI Materials Journal 95-M34 (1998), SI form."""
    assert c.evaporation(concrete, air, humidity, wind) == pytest.approx(expected, abs=within)


def test_cool_air_over_warm_concrete_dries_more_than_mild_air() -> None:
    """50 F air takes more than 70 F air. Source: 95-M34."""
    assert c.evaporation(70, 50, 0.5, 10) > c.evaporation(70, 70, 0.5, 10)


@pytest.mark.parametrize(
    ("given", "pounds"),
    [
        ((80, 80, 0.5, 10), 0.1431),
        ((90, 95, 0.3, 15), 0.3532),
        ((60, 40, 0.4, 12), 0.1383),
        ((70, 80, 0.7, 7), 0.0035),
        ((50, 90, 0.9, 5), 0),
    ],
)
def test_water_leaves_fresh_concrete_by_the_inch_pound_form(
    given: tuple[float, float, float, float], pounds: float
) -> None:
    """Concrete F, air F, humidity, mph; damp warm air over cool concrete takes none.

    Source: Uno 1998, ACI Materials Journal 95-M34 (from memory).
    """
    assert c.evaporation_us(*given) == pytest.approx(pounds, abs=5e-5)


def test_the_inch_pound_form_says_some_four_percent_more() -> None:
    """85/80 F, 30 %, 15 mph: 0.346 against 0.332. Source: the same."""
    assert c.evaporation_us(85, 80, 0.30, 15) == pytest.approx(0.346, abs=0.005)


def test_concrete_is_guarded_from_a_fifth_of_a_pound() -> None:
    """0.199 with care, 0.200 protected. Source: ACI 305R (secondary)."""
    assert (c.must_guard(0.199), c.must_guard(0.200)) == (False, True)


def test_more_wind_less_damp_and_hotter_concrete_never_dry_less() -> None:
    """The rate never falls with wind, dryness or the concrete's heat (arithmetic)."""
    by_wind = [c.evaporation(80, 75, 0.4, wind) for wind in range(0, 30, 3)]
    by_damp = [c.evaporation(80, 75, damp / 10, 8) for damp in range(10, 0, -1)]
    by_heat = [c.evaporation(heat, 75, 0.4, 8) for heat in range(50, 96, 5)]
    for rates in (by_wind, by_damp, by_heat):
        assert rates == sorted(rates)


@pytest.mark.parametrize(
    ("fahrenheit", "factor"), [(50, 0.461), (40, 0.324), (60, 0.647), (90, 1.665), (73.4, 1.0)]
)
def test_an_hour_of_warmth_is_worth_its_factor(fahrenheit: float, factor: float) -> None:
    """Equivalent age against 73.4 F. Source: ASTM C1074 eq. 2, Q of 5,000 K (from memory)."""
    assert c.age_factor(fahrenheit) == pytest.approx(factor, abs=0.003)


def test_the_careful_factor() -> None:
    """0.435 at 50 F over a datum of 32 F. Source: ASTM C1074 eq. 1."""
    assert c.careful_age_factor(50) == pytest.approx(0.435, abs=0.002)


@pytest.mark.parametrize(
    ("days", "share"), [(1, 0.206), (3, 0.458), (7, 0.704), (14, 0.881), (28, 1.007)]
)
def test_strength_comes_with_age(days: float, share: float) -> None:
    """Share of 28-day strength at 73 F. Source: ACI 209R, t / (4 + 0.85 t) (from memory)."""
    assert c.strength(days) == pytest.approx(share, abs=0.002)


def test_days_to_a_share_of_strength() -> None:
    """75 % at 8.28 d, 50 % at 3.48 d. Source: ACI 209R (from memory)."""
    assert c.days_to(0.75) == pytest.approx(8.28, abs=0.05)
    assert c.days_to(0.50) == pytest.approx(3.48, abs=0.02)


def test_at_a_steady_fifty_three_quarters_take_eighteen_days() -> None:
    """17.97 d. Source: ASTM C1074 with ACI 209R (from memory)."""
    assert c.bears(0.75, 7, 50) == pytest.approx(17.97, abs=0.1)


def test_mixed_weather_adds_up() -> None:
    """2 d at 73.4 and 5 d at 50: 4.30 d, 56.2 %. Source: ASTM C1074, ACI 209R (from memory)."""
    age = c.equivalent_days([c.Warm(48, 73.4), c.Warm(120, 50)])
    assert age == pytest.approx(4.30, abs=0.01)
    assert c.strength(age) == pytest.approx(0.562, abs=0.003)


def test_two_cold_weeks() -> None:
    """14 d at 50: 6.45 d, 68.0 %. Source: ASTM C1074, ACI 209R (from memory)."""
    age = c.equivalent_days([c.Warm(14 * 24, 50)])
    assert age == pytest.approx(6.45, abs=0.01)
    assert c.strength(age) == pytest.approx(0.680, abs=0.003)


def test_frozen_hours_add_nothing() -> None:
    """24 h at 30 F. Source: ASTM C1074 datum; common practice (from memory)."""
    assert c.equivalent_days([c.Warm(24, 30)]) == 0


def test_seven_days_give_between_sixty_and_seventy_five_percent() -> None:
    """Any ordinary mix. Source: textbook rule quoted with ACI 318 notes. Ours gives 70.4 %."""
    assert 0.60 < c.strength(7) < 0.75


def test_a_light_machine_waits_for_days_and_strength_both() -> None:
    """At 73.4 F strength binds (8.28 d), at 90 F the seven days do (75 % at 4.97 d).

    Source: common practice (7 d and 75 %) with C1074.
    """
    assert c.bears(0.75, 7, 73.4) == pytest.approx(8.28, abs=0.05)
    assert c.days_to(0.75) / c.age_factor(90) == pytest.approx(4.97, abs=0.03)
    assert c.bears(0.75, 7, 90) == 7


def test_frozen_concrete_never_bears_and_no_concrete_gains_more_than_its_curve() -> None:
    """Both are refused with what to do."""
    with pytest.raises(TradeError, match="gains no strength"):
        c.bears(0.75, 7, 30)
    with pytest.raises(TradeError, match="never reaches 120%"):
        c.days_to(1.2)


@pytest.mark.parametrize(
    ("cement", "days"), [("Type I", 7), ("Type II", 14), ("high ash or slag", 21)]
)
def test_cure_by_cement(cement: str, days: int) -> None:
    """All at or above 50 F. Source: UFGS 03301A, curing."""
    assert c.cure_days(cement) == days
    assert c.cured(cement, [55] * days)
    assert not c.cured(cement, [55] * (days - 1))


def test_a_cement_nobody_knows_is_refused() -> None:
    """Ask the supplier."""
    with pytest.raises(TradeError, match="is not known"):
        c.cure_days("Type IX")


def test_the_library_cures_as_the_table_does() -> None:
    """W-cure and its two stand-ins carry the least days of UFGS 03301A."""
    least = [library().waits[key].least for key in ("W-cure", "W-cure-slow", "W-cure-slower")]
    assert least == [c.CURE_DAYS[cement] for cement in ("Type I", "Type II", "high ash or slag")]


def test_rain_on_an_uncovered_slab() -> None:
    """Rain due 11 h after finishing stops a pour, 12 h after does not. Source: UFGS 03301A."""
    limits = limits_of(library().weather["W4"])
    told = [why_stopped(limits, {Measure.DRY_AFTER: hours}) for hours in (11.0, 12.0)]
    assert told == [Sentence("weather-dry-after", {"seen": "11 h", "limit": "12 h"}), None]
    assert library().waits["W-rainsafe"].least == 12


def test_stone_waits_a_week_for_a_pour_at_least() -> None:
    """Pour ends Tue 9 June 14:00: seven days are 10,080 minutes, Tue 16 June 14:00. Source: UFGS."""
    assert lag_of(library().waits["W-cure"]).amount == 7 * 24 * 60
    assert library().waits["W-stone"].least == 7


def test_cold_days_do_not_cure() -> None:
    """5 d at 60, 4 d at 45: not cured on day 9; two more at 50 do it. ACI 308 (from memory)."""
    cold = [60] * 5 + [45] * 4
    assert not c.cured("Type I", cold)
    assert not c.cured("Type I", [*cold, 50])
    assert c.cured("Type I", [*cold, 50, 50])


def test_forms_stay_a_day() -> None:
    """20 h no, 24 h yes. Source: project specifications after ACI 347/301."""
    assert lag_of(library().waits["W-strip"]).amount == 24 * 60


def test_joints_are_filled_a_day_after_the_bed() -> None:
    """Bed done Wed 15:30, joints not before Thu 15:30 (common practice)."""
    assert lag_of(library().waits["W-bed"]).amount == 24 * 60


def test_a_seal_waits_four_weeks() -> None:
    """Joints end 14 July, seal not before 11 August. Source: product data, many sources."""
    assert lag_of(library().waits["W-seal"]).amount == 28 * 24 * 60
