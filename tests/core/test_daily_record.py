"""A station's daily record: read defensively, counted by month and year."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from jobs.weather.errors import BadRecord
from jobs.weather.rain import Tally, rain_of_years
from jobs.weather.record import read_record

FIVE_YEARS = 1826


def rows(
    rain: str = "0", days: int = FIVE_YEARS, first: date = date(2015, 1, 1)
) -> list[dict[str, str]]:
    """Return days of the same rain, from 1 January 2015 on."""
    return [
        {"date": (first + timedelta(days=n)).isoformat(), "precip_mm": rain} for n in range(days)
    ]


def test_days_are_counted_by_year_and_month() -> None:
    """January 2015 of wet days: 31 wet, none heavy, 30 pairs, all after wet (Dec 2014 is not known)."""
    january = read_record(rows("3.0")).tallies()[2015][0]
    assert january == Tally(days=31, wet=31, wet_pairs=30, wet_after_wet=30)


def test_a_tenth_of_an_inch_read_in_tenths_of_a_millimetre_is_wet() -> None:
    """0.10 in reads 2.5 mm in such records; 0.50 in reads 12.7."""
    january = read_record(rows("2.5")).tallies()[2015][0]
    heavy = read_record(rows("12.7")).tallies()[2015][0]
    assert (january.wet, january.heavy, heavy.heavy) == (31, 0, 31)


def test_a_missing_day_is_never_a_dry_one() -> None:
    """It leaves the count and both pairs it would have been in."""
    days = rows()
    days[9]["precip_mm"] = ""
    record = read_record(days)
    january = record.tallies()[2015][0]
    assert (record.missing, january.days, january.dry_pairs) == (1, 30, 28)


def test_a_day_left_out_is_missing_too() -> None:
    """The record is contiguous; a gap in the file is a gap in it."""
    days = rows()
    del days[9]
    record = read_record(days)
    assert (len(record.days), record.missing) == (FIVE_YEARS, 1)


def test_odd_files_are_read_and_remarked() -> None:
    """A day twice keeps the first; rain below nothing is missing; days out of order are sorted."""
    days = rows()
    days[0], days[1] = days[1], days[0]
    days[5]["precip_mm"] = "-4"
    days.append(dict(days[7], precip_mm="99"))
    record = read_record(days)
    assert record.remarks == (
        "1 days stand there twice; the first was kept",
        "1 figures cannot be and count as missing (line 7)",
        "the days were not in order and were sorted",
    )
    assert (record.missing, record.days[7].rain) == (1, 0.0)


def test_a_high_below_the_low_is_missing() -> None:
    """Both temperatures go, the rain stays."""
    days = rows()
    days[0] |= {"tmax_c": "3", "tmin_c": "8"}
    days[1] |= {"tmax_c": "8", "tmin_c": "3"}
    record = read_record(days)
    assert (record.days[1].tmax, record.days[1].tmin, record.days[0].rain) == (8.0, 3.0, 0.0)
    assert record.remarks == ("1 figures cannot be and count as missing (line 2)",)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ([], "holds no days"),
        (rows(days=400), "load five years or more"),
        ([{"date": "2015-01-01", "rain": "0"}], "needs the columns"),
        ([{"date": "Jan 1", "precip_mm": "0"}], "line 2 has no date"),
        ([{"date": "0015-01-01", "precip_mm": "0"}], "line 2 is of the year 15"),
        (rows("much"), "knows the rain of 0 days"),
    ],
)
def test_a_record_that_cannot_be_used_is_told(given: list[dict[str, str]], told: str) -> None:
    """With what to do about it, never a traceback."""
    with pytest.raises(BadRecord, match=told):
        read_record(given)


def test_chances_are_pulled_a_little_toward_the_months_own_share() -> None:
    """2 wet after 8 dry and 1 after 1 wet, 3 of 10 days wet: share 3.5 / 11."""
    share = 3.5 / 11
    chain = Tally(10, 3, 0, 8, 2, 1, 1).chain
    assert chain.after_dry == pytest.approx((2 + 0.5 * share) / 8.5)
    assert chain.after_wet == pytest.approx((1 + 4 * share) / 5)


def test_years_alike_leave_half_the_usual_spread_or_less() -> None:
    """Ten years of the same month have no spread of their own; ten years of doubt keep half of 0.15^2."""
    month = Tally(30, 6, 3, 24, 4, 6, 2)
    rain = rain_of_years(dict.fromkeys(range(10), (month,) * 12))
    assert rain.spread == pytest.approx((0.5 * 0.15**2) ** 0.5)


def test_years_that_differ_widen_the_spread() -> None:
    """Wet and dry years in turn vary more than the chain explains."""
    wet, dry = Tally(30, 12, 3, 18, 8, 12, 4), Tally(30, 2, 1, 28, 2, 2, 0)
    rain = rain_of_years({year: ((wet, dry)[year % 2],) * 12 for year in range(10)})
    assert rain.spread > 0.4


def test_too_few_years_say_nothing_of_the_spread() -> None:
    """Three years keep the usual one."""
    assert (
        rain_of_years(dict.fromkeys(range(3), (Tally(30, 6, 3, 24, 4, 6, 2),) * 12)).spread == 0.15
    )


def test_a_month_never_seen_is_told() -> None:
    """Records of the summer half are not enough."""
    half = (Tally(30, 6, 3, 24, 4, 6, 2),) * 6 + (Tally(),) * 6
    with pytest.raises(BadRecord, match="load whole years"):
        rain_of_years(dict.fromkeys(range(9), half))
