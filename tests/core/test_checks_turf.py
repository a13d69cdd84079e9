"""Figures from outside about killing an old lawn, put to what a yard unfolds into. 8 June 2026 is a Monday."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest

from jobs.scheduling.sky.limits import MS_PER_MPH, celsius, limits_of, why_stopped
from jobs.services.sky.hazards import limits_of_work
from jobs.trade import turf
from jobs.trade.rules import minutes_of
from jobs.trade.scope import Item
from jobs.trade.work import Sentence
from jobs.weather.limits import Measure
from tests.yards import between, expanded, library

WEEDS, FESCUE, BERMUDA = "annual weeds", "tall fescue or mixed lawn", "bermuda or other runners"
JUNE_8 = date(2026, 6, 8)
A_DAY = 24 * 60


def kill(weed: str) -> list[tuple[str, int]]:
    """Return the sprays of a lawn, then its stripping, each with days after the one before."""
    made = expanded(Item("lawn", "turf-kill", "patio", {"area": "420", "weed": weed}))
    steps = sorted(a.key.template for a in made.activities if a.key.template in turf.SPRAYED)
    steps.append("strip-sod")
    days = [0]
    for before, after in pairwise(steps):
        [lag] = {link.lag.amount for link in between(made, before, after)}
        days.append(lag // A_DAY)
    return list(zip(steps, days, strict=True))


def dates(weed: str, first: date = JUNE_8) -> list[date]:
    """Return the day of each of these steps if the first is done on a given day."""
    days = [days for _, days in kill(weed)]
    return [first + timedelta(days=sum(days[: n + 1])) for n in range(len(days))]


def test_two_sprays_take_six_weeks() -> None:
    """First spray 8 June: second 6 July, free 20 July, 42 days.

    Source: K-State turf pages (two weeks, scalp, two weeks more); last fortnight secondary.
    """
    assert dates(FESCUE) == [JUNE_8, date(2026, 7, 6), date(2026, 7, 20)]
    assert sum(days for _, days in kill(FESCUE)) == 42


def test_three_sprays_take_nine_weeks() -> None:
    """First spray 8 June: 6 July, 3 August, free 10 August, 63 days.

    Source: UGA (three sprays best), K-State (regrowth between); last week secondary.
    """
    found = [JUNE_8, date(2026, 7, 6), date(2026, 8, 3), date(2026, 8, 10)]
    assert dates(BERMUDA) == found
    assert sum(days for _, days in kill(BERMUDA)) == 63


def test_one_strong_spray_is_no_program_for_runners() -> None:
    """It left six in ten alive. Source: UGA burndown note of 2018 (38 % control). Annuals need one."""
    assert [len(kill(weed)) - 1 for weed in (WEEDS, FESCUE, BERMUDA)] == [1, 2, 3]


def test_a_lawn_is_watered_a_week_before_the_first_spray() -> None:
    """Watered from 1 June, sprayed from 8 June. Source: K-State (water a week or more before)."""
    made = expanded(Item("lawn", "turf-kill", "patio", {"area": "420", "weed": FESCUE}))
    [link] = between(made, "wake-turf", "spray-turf-1")
    assert date(2026, 6, 1) + timedelta(minutes=link.lag.amount) == JUNE_8


def test_second_sprays_come_three_to_five_weeks_after_the_first() -> None:
    """20 days are too few (K-State: three to four weeks), the 31 of its trial of 1996 are within."""
    wait = library().waits["W-respray"]
    assert (wait.least, wait.high) == (21, 35)


FINE = {
    Measure.COLD: celsius(75),
    Measure.HOT: celsius(75),
    Measure.WIND: 5 * MS_PER_MPH,
    Measure.DRY_AFTER: 24.0,
    Measure.RAIN_RATE: 0.0,
}


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({Measure.COLD: celsius(59)}, "weather-cold"),
        ({Measure.COLD: celsius(60)}, None),
        ({Measure.HOT: celsius(90)}, None),
        ({Measure.HOT: celsius(91)}, "weather-hot"),
        ({Measure.WIND: 10 * MS_PER_MPH}, None),
        ({Measure.WIND: 11 * MS_PER_MPH}, "weather-wind"),
        ({Measure.DRY_AFTER: 5.0}, "weather-dry-after"),
        ({Measure.DRY_AFTER: 6.0}, None),
    ],
    ids=["59 F", "60 F", "90 F", "91 F", "10 mph", "11 mph", "rain in 5 h", "rain in 6 h"],
)
def test_spraying_has_its_air_wind_and_dry_hours(
    changed: dict[Measure, float], told: str | None
) -> None:
    """60 to 90 F, 10 mph, 6 h. Source: K-State, label practice (from memory); the label overrules."""
    found = why_stopped(limits_of(library().weather["W3"]), FINE | changed)
    assert (found.key if found else None) == told


@pytest.mark.parametrize(("mean_f", "stops"), [(45, True), (59, True), (60, False)])
def test_runners_that_sleep_are_not_sprayed(
    mean_f: float,
    stops: bool,  # noqa: FBT001 - a table
) -> None:
    """A January afternoon of 65 F does not wake bermuda: the ground tells. Source: UGA, K-State."""
    limits = limits_of_work(library(), library().templates["spray-turf-1"], "W3", BERMUDA)
    january = FINE | {Measure.HOT: celsius(65), Measure.COLD: celsius(62)}
    found = why_stopped(limits, january | {Measure.SOIL: celsius(mean_f)})
    assert isinstance(found, Sentence) is stops


def test_a_clear_sheet_cooks_four_to_six_weeks() -> None:
    """Laid 1 July: off on 29 July at least, 12 August usually. Source: UC IPM Pest Notes 74145."""
    wait, laid = library().waits["W-solarise"], date(2026, 7, 1)
    assert laid + timedelta(days=int(wait.least)) == date(2026, 7, 29)
    assert laid + timedelta(minutes=minutes_of(wait)) == date(2026, 8, 12)


def test_a_clear_sheet_is_for_the_hot_months() -> None:
    """Not laid in December: the sun of the hot season is needed. Source: UC IPM."""
    assert date(2026, 12, 1).month not in turf.ONLY_IN["cover-solarise"]


@pytest.mark.parametrize("laid", [date(2026, month, 1) for month in range(1, 13)])
def test_board_rots_six_months(laid: date) -> None:
    """Laid on the first of a month, planted without cutting through six months on at the earliest.

    Source: UC Master Gardeners, Placer County (about six months); months are told as they were published,
    so that no six of them are cut short.
    """
    month = (laid.month + 6 - 1) % 12 + 1
    six = date(laid.year + (laid.month > 6), month, 1)
    assert laid + timedelta(minutes=minutes_of(library().waits["W-sheet"])) >= six


def test_board_laid_in_november_is_planted_from_may() -> None:
    """Laid 1 November, not before 1 May even by the least figure. Source: the same."""
    wait = library().waits["W-sheet"]
    assert date(2026, 11, 1) + timedelta(days=int(wait.least)) == date(2027, 5, 1)


def test_runners_take_ten_months_under_board() -> None:
    """300 days with creeping runners (common practice) are the high figure of the wait."""
    assert library().waits["W-sheet"].high == 300
