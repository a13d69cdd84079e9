"""Wet spells: a chain of wet and dry days and what follows from it."""

from __future__ import annotations

from math import gamma

import pytest

from jobs.weather.chain import Chain, chain_of
from jobs.weather.errors import WeatherError
from jobs.weather.wind import wind_curve
from tests.renewal import LostDays, coverage_slack

TOWN = Chain(0.250, 0.662)
"""A December often used in textbooks after Gabriel and Neumann (1962), Q. J. Royal Met. Soc. 88, 90-95."""


def test_a_town_is_wet_43_days_in_a_hundred() -> None:
    """Long-run share P01 / (1 + P01 - P11) (Gabriel and Neumann 1962)."""
    assert TOWN.wet_share == pytest.approx(0.4252, abs=0.0005)


def test_days_remember_each_other_by_the_difference_of_the_chances() -> None:
    """Lag-one correlation is P11 - P01, exactly."""
    assert TOWN.memory == pytest.approx(0.412, abs=1e-12)


def test_wet_spells_last_three_days_and_dry_spells_four() -> None:
    """Mean spells are 1 / (1 - P11) and 1 / P01."""
    assert TOWN.wet_spell == pytest.approx(2.96, abs=0.01)
    assert TOWN.dry_spell == pytest.approx(4.00, abs=1e-9)


def test_after_a_dry_day_the_day_after_tomorrow_is_wet_with_0353() -> None:
    """Two steps of the chain; a published answer of 0.320 to this exercise is wrong."""
    assert TOWN.wet_in(2, wet=False) == pytest.approx(0.353, abs=0.001)


def test_five_dry_days_in_a_row_come_after_a_dry_day_one_time_in_four() -> None:
    """0.75 to the fifth."""
    assert TOWN.dry_run(5, wet=False) == pytest.approx(0.2373, abs=0.0005)


def test_three_dry_days_come_after_a_wet_day_one_time_in_five() -> None:
    """0.338 times 0.75 twice."""
    assert TOWN.dry_run(3, wet=True) == pytest.approx(0.1901, abs=0.0005)


def test_no_days_are_all_dry_for_certain() -> None:
    """A run of no days is always there."""
    assert TOWN.dry_run(0, wet=True) == 1.0


def test_a_wet_spell_once_begun_lasts_three_days_with_0438() -> None:
    """0.662 squared."""
    assert TOWN.wet_run(3) == pytest.approx(0.438, abs=0.001)


def test_wet_days_of_a_month_spread_far_wider_than_independent_days_would() -> None:
    """Mean 12.755 and standard deviation 4.126 in 30 days; independent days give 2.708."""
    month = TOWN.wet_days(30)
    alone = chain_of(TOWN.wet_share, 0.0).wet_days(30)
    assert month == pytest.approx((12.755, 4.126), abs=0.005)
    assert alone.deviation == pytest.approx(2.708, abs=0.005)


def test_counts_of_a_december_give_its_chances() -> None:
    """213 wet days of 326 after wet ones, 117 of 511 after dry ones: a textbook exercise on the same town."""
    december = Chain(117 / 511, 213 / 326)
    assert december.after_wet == pytest.approx(0.6534, abs=0.0005)
    assert december.after_dry == pytest.approx(0.2290, abs=0.0005)
    assert december.wet_share == pytest.approx(0.398, abs=0.002)


def test_a_quarter_after_dry_and_55_in_a_hundred_after_wet() -> None:
    """Share 0.357143, memory 0.3, spells 2.222 and 4 days, variance 12.510 in 30 days (algebra)."""
    chain = Chain(0.25, 0.55)
    assert chain.wet_share == pytest.approx(0.357143, abs=1e-6)
    assert chain.memory == pytest.approx(0.3, abs=1e-9)
    assert chain.wet_spell == pytest.approx(2.222222, abs=1e-6)
    assert chain.dry_spell == pytest.approx(4.0, abs=1e-9)
    assert chain.wet_days(30).deviation ** 2 == pytest.approx(12.510412, abs=1e-5)


def test_share_and_memory_give_the_chain_back() -> None:
    """P01 = pi (1 - r) and P11 = pi + r (1 - pi): 0.3 and 0.25 are 0.225 and 0.475 (algebra)."""
    chain = chain_of(0.3, 0.25)
    assert chain.after_dry == pytest.approx(0.225, abs=1e-9)
    assert chain.after_wet == pytest.approx(0.475, abs=1e-9)


def test_a_wetter_year_moves_both_log_odds_alike() -> None:
    """Log-odds of 1/4 and 3/4 moved by ln 3 are those of 1/2 and 9/10."""
    wet = Chain(0.25, 0.75).shifted(1.0986122886681098)
    assert wet.after_dry == pytest.approx(0.5)
    assert wet.after_wet == pytest.approx(0.9)


def test_a_place_where_it_never_rains_stays_dry_in_any_year() -> None:
    """Certainty has no odds to move."""
    assert Chain(0.0, 0.0).shifted(2.0) == Chain(0.0, 0.0)


@pytest.mark.parametrize(("dry", "wet"), [(-0.1, 0.5), (1.2, 0.5), (0.2, 1.0), (0.2, -0.1)])
def test_what_is_no_chance_is_refused(dry: float, wet: float) -> None:
    """Chances lie from 0 to 1, and a wet spell ends."""
    with pytest.raises(WeatherError, match="give shares from 0 to 1"):
        Chain(dry, wet)


LOST = [
    ((20, 0.3, 0.25), (8.571429, 20.408163), (8, 12, 15, 17)),
    ((20, 0.3, 0.0), (8.571429, 12.244898), (8, 11, 13, 15)),
    ((40, 0.3, 0.25), (17.142857, 40.816327), (17, 22, 26, 29)),
    ((20, 0.2, 0.3), (5.0, 11.607143), (4, 8, 10, 11)),
    ((10, 0.5, 0.4), (10.0, 46.666667), (9, 15, 19, 23)),
]
"""Days of work, share of lost days, memory; mean and variance; days lost at P50, P80, P90, P95: renewal
argument, each checked by simulation when the table was made."""


@pytest.mark.parametrize(("given", "moments", "quantiles"), LOST)
def test_days_lost_until_so_many_are_worked(
    given: tuple[int, float, float], moments: tuple[float, float], quantiles: tuple[int, ...]
) -> None:
    """Mean k f / (1 - f), variance k f (1 + r) / ((1 - f)^2 (1 - r)), quantiles of the exact sum."""
    worked, share, memory = given
    lost = LostDays(chain_of(share, memory), worked)
    assert (lost.mean, lost.variance) == pytest.approx(moments, abs=1e-5)
    assert tuple(lost.quantile(p) for p in (0.5, 0.8, 0.9, 0.95)) == quantiles


def test_not_knowing_the_day_before_costs_a_little_more() -> None:
    """k f / (1 - f) + f r / ((1 - f)(1 - r)): 20 days at 0.3 and 0.25 lose 8.714286 (algebra)."""
    lost = LostDays(chain_of(0.3, 0.25), 20)
    assert lost.mean_any_start == pytest.approx(8.714286, abs=1e-6)


def test_ten_good_days_at_eight_in_ten_take_twelve_and_a_half() -> None:
    """Negative binomial: mean 12.5 working days, P50 12, P80 14, P90 15."""
    lost = LostDays(chain_of(0.2, 0.0), 10)
    assert lost.mean + 10 == pytest.approx(12.5)
    assert [lost.quantile(p) + 10 for p in (0.5, 0.8, 0.9)] == [12, 14, 15]


def test_no_rain_loses_no_day() -> None:
    """All odds 0: P50 and P80 are the planned day."""
    lost = LostDays(Chain(0.0, 0.0), 40)
    assert (lost.mean, lost.quantile(0.5), lost.quantile(0.8)) == (0, 0, 0)


def test_work_of_no_days_and_chances_that_are_none_are_refused() -> None:
    """Neither has an answer."""
    with pytest.raises(WeatherError, match="ask for one day or more"):
        LostDays(TOWN, 0)
    with pytest.raises(WeatherError, match="ask between 0 and 1"):
        LostDays(TOWN, 3).quantile(1.0)


def test_a_hundred_jobs_may_stray_eight_in_a_hundred() -> None:
    """Two standard errors of 0.8 over 100 jobs: 2 sqrt(0.16 / 100)."""
    assert coverage_slack(100) == pytest.approx(0.08)


def test_the_wind_curve_keeps_its_mean() -> None:
    """Scale times gamma(1 + 1 / shape) is the mean; shape 0.94 sqrt(mean) is 1.88 at 4 m/s (Justus 1978)."""
    shape, scale = wind_curve(4.0)
    assert shape == pytest.approx(1.88)
    assert scale * gamma(1 + 1 / shape) == pytest.approx(4.0)
