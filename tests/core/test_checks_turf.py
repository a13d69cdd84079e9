"""Figures from outside about killing an old lawn. 8 June 2026 is a Monday."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from jobs.trade import turf
from jobs.trade.errors import TradeError
from tests.yards import library

FESCUE, BERMUDA = "tall fescue or mixed lawn", "bermuda or other runners"
GOOD = turf.Moment(air_f=75, wind_mph=5, rain_after_h=24, growing=True)


def june(day: int) -> date:
    """Return a day of June 2026."""
    return date(2026, 6, day)


def test_two_sprays_take_six_weeks() -> None:
    """First spray 8 June: second 6 July, free 20 July, 42 days.

    Source: K-State turf pages (two weeks, scalp, two weeks more); last fortnight secondary.
    """
    plan = turf.program(june(8), FESCUE)
    assert plan == ((june(8), date(2026, 7, 6)), date(2026, 7, 20))
    assert plan.days == 42


def test_three_sprays_take_nine_weeks() -> None:
    """First spray 8 June: 6 July, 3 August, free 10 August, 63 days.

    Source: UGA (three sprays best), K-State (regrowth between); last week secondary.
    """
    plan = turf.program(june(8), BERMUDA)
    assert plan.sprays[1:] == (date(2026, 7, 6), date(2026, 8, 3))
    assert (plan.free, plan.days) == (date(2026, 8, 10), 63)


def test_the_library_waits_as_the_programs_do() -> None:
    """28 days between sprays, 14 after two, 7 after three: library and arithmetic agree."""
    usual = {key: wait.usual for key, wait in library().waits.items()}
    assert usual["W-respray"] == turf.RESPRAY_DAYS
    assert (usual["W-kill-2"], usual["W-kill-3"]) == (turf.KILL_DAYS[2], turf.KILL_DAYS[3])


def test_a_lawn_is_watered_a_week_before_the_first_spray() -> None:
    """Watered from 1 June, sprayed from 8 June. Source: K-State (water a week or more before)."""
    assert turf.first_spray(june(1)) == june(8)


@pytest.mark.parametrize(("air", "may"), [(59, False), (60, True), (90, True), (91, False)])
def test_spraying_has_its_temperatures(air: float, may: bool) -> None:  # noqa: FBT001 - a table
    """Between 60 and 90 F. Source: K-State, label practice (from memory)."""
    assert (turf.stops_spray(GOOD._replace(air_f=air)) == ()) is may


@pytest.mark.parametrize(("wind", "told"), [(10, ()), (11, ("too windy",))])
def test_wind_above_ten_stops_a_spray(wind: float, told: tuple[str, ...]) -> None:
    """10 mph yes, 11 no. Source: label practice (from memory)."""
    assert turf.stops_spray(GOOD._replace(wind_mph=wind)) == told


@pytest.mark.parametrize(("hours", "told"), [(5, ("rain too soon after",)), (6, ())])
def test_six_hours_without_rain(hours: float, told: tuple[str, ...]) -> None:
    """Rain five hours after washes it off, six is enough. Source: product label (from memory)."""
    assert turf.stops_spray(GOOD._replace(rain_after_h=hours)) == told


def test_a_sleeping_lawn_is_not_sprayed() -> None:
    """Dormant bermuda in January at 65 F. Source: UGA, K-State (actively growing)."""
    january = GOOD._replace(air_f=65, growing=False)
    assert turf.stops_spray(january) == ("the grass is not growing",)


def test_one_strong_spray_is_no_program() -> None:
    """One spray in May left six in ten runners alive. Source: UGA burndown note of 2018 (38 %)."""
    assert not turf.complete([date(2026, 5, 12)], BERMUDA)


def test_the_trial_of_two_sprays_counts() -> None:
    """15 July and 15 August, 31 days apart, no regrowth a year later. Source: K-State trial, 1996."""
    assert turf.complete([date(1996, 7, 15), date(1996, 8, 15)], FESCUE)


def test_a_second_spray_after_twenty_days_is_flagged() -> None:
    """Three weeks at least. Source: K-State (three to four weeks)."""
    assert turf.too_soon([june(1), june(21)]) == (june(21),)
    assert turf.too_soon([june(1), june(22)]) == ()


def test_a_clear_sheet_cooks_four_to_six_weeks() -> None:
    """Laid 1 July: off on 29 July at least, 12 August usually. Source: UC IPM Pest Notes 74145."""
    assert turf.solarised(date(2026, 7, 1)) == (date(2026, 7, 29), date(2026, 8, 12))


def test_a_clear_sheet_in_december_is_refused() -> None:
    """The sun of the hot season is needed. Source: UC IPM."""
    with pytest.raises(TradeError, match="does not get hot enough"):
        turf.solarised(date(2026, 12, 1))


def test_board_rots_by_may() -> None:
    """Laid 1 November, planted without cutting through about six months later.

    Source: UC Master Gardeners, Placer County. 180 days is 30 April.
    """
    assert turf.sheet_rotted(date(2026, 11, 1)) == date(2027, 4, 30)


def test_runners_take_ten_months_under_board() -> None:
    """300 days with creeping runners (common practice), the high figure of the wait as well."""
    assert turf.sheet_rotted(date(2026, 11, 1), runners=True) == date(2027, 8, 28)
    assert library().waits["W-sheet"].high == Decimal(300)


def test_a_lawn_nobody_knows_is_refused() -> None:
    """Nobody knows how long moss takes."""
    with pytest.raises(TradeError, match="how 'moss' is killed is not known"):
        turf.program(june(8), "moss")
