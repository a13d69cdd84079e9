"""When a slab bears what, by the temperatures it will have."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest

from jobs.scheduling.sky.cure_dates import (
    LONGEST_DAYS,
    Ready,
    colder_minutes,
    cure_dates,
)
from jobs.services.numbers.library import current_library
from jobs.trade import concrete
from jobs.trade.errors import TradeError
from jobs.weather.hourly import usual_air, usual_hours, warm_share
from jobs.weather.temperature import Swing, Warmth

LOADS = current_library().loads
SIXTY = 60 * 24


def strength_at(fahrenheit: list[float]) -> float:
    """Return the share of 28-day strength after so many hours."""
    return concrete.strength(
        concrete.equivalent_days([concrete.Warm(1.0, degrees) for degrees in fahrenheit])
    )


def ready(fahrenheit: list[float]) -> dict[str, Ready]:
    """Return what is ready when, by key."""
    return {it.key: it for it in cure_dates(fahrenheit, LOADS, "Type I")}


def test_at_a_steady_73_strength_binds_the_machine() -> None:
    """75 % comes at 8.28 d (ACI 209R, from memory), though 7 d have passed."""
    found = ready([73.4] * SIXTY)
    assert found["stand-on"].hours == pytest.approx(8.28 * 24, abs=1.2)
    assert (found["stand-on"].by, found["stand-on"].least) == ("strength", 168)


def test_when_it_is_hot_the_published_days_hold() -> None:
    """At 90 F strength comes at 4.97 d, and still the machine waits 7 d."""
    assert ready([90.0] * SIXTY)["stand-on"] == Ready("stand-on", 168.0, 168.0, "least")


def test_at_a_steady_50_three_quarters_take_18_days() -> None:
    """17.97 d (ASTM C1074 with ACI 209R, from memory)."""
    assert ready([50.0] * SIXTY)["stand-on"].hours == pytest.approx(17.97 * 24, abs=2.4)


def test_feet_wait_two_days_when_it_is_cool() -> None:
    """24 h at 50 F and above, 48 h below (common practice)."""
    assert (ready([55.0] * SIXTY)["foot"].hours, ready([49.0] * SIXTY)["foot"].hours) == (24, 48)


def test_only_warm_hours_cure_and_strip() -> None:
    """Twelve hours a day at 52 F and twelve at 40: forms after 36 h, cured after two weeks less half a day."""
    found = ready(([52.0] * 12 + [40.0] * 12) * 60)
    assert (found["strip-forms"].hours, found["cured"].hours) == (36, 13.5 * 24)


@pytest.mark.parametrize(
    ("day", "hours", "by"),
    [
        ([55.0] * 24, 72, "usual"),
        ([52.0] * 12 + [40.0] * 12, 72, "usual"),
        ([51.0] * 4 + [40.0] * 20, 5 * 24 + 4, "warm hours"),
        ([49.0] * 24, None, "warm hours"),
    ],
)
def test_a_wall_starts_after_three_days_and_a_day_of_warmth(day, hours, by) -> None:
    """1 d at 50 F before light block work, 3 d usual (common practice; W-wallstart of the trade's waits)."""
    rows = cure_dates(day * 60, LOADS, "Type I", wall=(24, 72))
    assert next(row for row in rows if row.key == "wall") == Ready("wall", 24, hours, by)
    assert "wall" not in {row.key for row in cure_dates(day * 60, LOADS, "Type I")}


def test_an_engineer_lets_a_wall_start_sooner() -> None:
    """After 36 hours by his word."""
    rows = cure_dates([55.0] * SIXTY, LOADS, "Type I", released={"wall": 36.0}, wall=(24, 72))
    assert next(row for row in rows if row.key == "wall") == Ready("wall", 24, 36, "release")


def test_frozen_concrete_gets_nowhere_by_itself() -> None:
    """At 30 F it never cures nor bears a machine: None, and last in the list."""
    rows = cure_dates([30.0] * SIXTY, LOADS, "Type I")
    assert {it.key for it in rows if it.hours is None} == {
        "strip-forms",
        "cured",
        "barrow",
        "stand-on",
        "skid",
    }
    assert rows[0].key == "foot"
    assert strength_at([30.0] * 24) == 0.0


def test_what_may_never_go_on_a_slab_has_no_date() -> None:
    """A loaded truck."""
    assert "truck" not in ready([73.4] * SIXTY)


def test_a_cement_nobody_knows_is_refused() -> None:
    """Ask the supplier."""
    with pytest.raises(TradeError, match="how long"):
        cure_dates([70.0] * SIXTY, LOADS, "Type Z")


def test_two_cold_weeks_reach_two_thirds() -> None:
    """14 d at 50 F: 68.0 % (ASTM C1074, ACI 209R, from memory)."""
    assert strength_at([50.0] * 14 * 24) == pytest.approx(0.680, abs=0.003)


def test_usual_hours_run_from_the_morning_low_to_the_afternoon_high() -> None:
    """Low 10 and high 20 all year at 40 north: coldest about sunrise, warmest in the afternoon."""
    warmth = Warmth((20.0,) * 12, (10.0,) * 12, (Swing(1, 1, 0),) * 12, (3.0,) * 12)
    day = usual_hours(warmth, date(2026, 6, 15), 2, 40.0)
    assert len(day) == 48
    assert 4 <= day.index(min(day[:24])) <= 6
    assert 13 <= day.index(max(day[:24])) <= 16
    assert min(day) == pytest.approx(10.0, abs=0.8)
    assert max(day) == pytest.approx(20.0, abs=0.2)


def test_the_air_between_two_months_is_read_off_between_their_middles() -> None:
    """June 10, July 20: 30 June is half way, a sixtieth more or less."""
    highs = tuple(20.0 if month == 6 else 10.0 for month in range(12))
    warmth = Warmth(highs, (0.0,) * 12, (Swing(1, 1, 0),) * 12, (3.0,) * 12)
    assert usual_air(warmth, date(2026, 6, 30))[1] == pytest.approx(15.0, abs=0.2)


DAY = 24 * 60


def test_a_warm_day_counts_whole_and_frost_not_at_all() -> None:
    """Hours at 50 F and above count (UFGS 03 30 01); colder ones by their share over 32 F are ours."""
    assert (warm_share(12.0, 25.0), warm_share(-9.0, 0.0)) == (1.0, 0.0)
    assert warm_share(5.0, 5.0) == pytest.approx(0.5)


def test_a_cure_in_the_warm_takes_as_long_as_usual() -> None:
    """No day is slower, so there is nothing to look up."""
    assert colder_minutes([1.0] * 60, 7, 7 * DAY) == ()


def test_a_cure_at_half_warm_days_takes_twice_as_long() -> None:
    """Seven days' worth is there after fourteen: a week more than usual."""
    assert set(colder_minutes([0.5] * 60, 7, 7 * DAY)) == {7 * DAY}


def test_a_cure_in_frost_is_taken_to_be_kept_warm_after_four_weeks() -> None:
    """Without end it would be no plan: blankets or heat are (ACI 306R, from memory)."""
    assert set(colder_minutes([0.0] * 60, 7, 7 * DAY)) == {(LONGEST_DAYS - 7) * DAY}


def test_a_later_pour_is_never_ready_sooner() -> None:
    """Thaw after frost: whoever waits a day loses one, but for what a night is long."""
    warm = [0.0] * 30 + [1.0] * 90
    ready_at = [n * DAY + more for n, more in enumerate(colder_minutes(warm, 7, 7 * DAY))]
    assert ready_at[0] == LONGEST_DAYS * DAY - 7 * DAY
    assert all(b - a >= DAY - 240 for a, b in pairwise(ready_at))
