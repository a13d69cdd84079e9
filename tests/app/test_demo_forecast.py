"""The demo's invented forecast, and what the outlook's bench measures."""

from __future__ import annotations

from datetime import date

import pytest

from jobs.models import ForecastReading, Job
from jobs.services.bench.outlook import bench_outlook
from jobs.services.sky.demo_forecast import keep_demo_forecast
from jobs.services.sky.forecast import latest
from jobs.weather.reading import day_span, read_day, warned
from tests.office import NOW, open_office, small_job


@pytest.mark.django_db
def test_the_demo_has_a_storm_on_thursday() -> None:
    """14 mm with 80 % and a thunderstorm watch on 18 June; Friday morning still drips, Wednesday is dry."""
    open_office()
    job = small_job()
    Job.objects.update(latitude="35.57000", longitude="-82.55000", demo=True)
    job.refresh_from_db()
    assert keep_demo_forecast(NOW) == 1
    told = latest(job, NOW)
    assert told.hours is not None
    rain = [read_day(told.hours, date(2026, 6, day), told.zone).rain_mm for day in (17, 18, 19)]
    assert rain == [0.0, 14.0, 3.0]
    thursday = day_span(date(2026, 6, 18), told.zone)
    assert warned(told.alerts, thursday).events == ("Severe Thunderstorm Watch",)
    assert (told.stale, told.failure, ForecastReading.objects.count()) == (False, "", 1)


@pytest.mark.django_db
def test_yards_that_are_not_the_demos_get_none() -> None:
    """Nor do yards without a position."""
    open_office()
    small_job()
    assert keep_demo_forecast(NOW) == 0


def test_the_bench_times_both_ways() -> None:
    """Three sizes, each with seconds together and one by one."""
    figures = bench_outlook(runs=100)
    assert [row["activities"] for row in figures["sizes"]] == [42, 84, 168]
    told = {"activities", "seconds", "one_by_one_seconds", "times_faster"}
    assert [set(row) for row in figures["sizes"]] == [told] * 3
