"""The cure of a pour told as dates, in June and in January."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest

from jobs.services.files.load_job import load_job
from jobs.services.pages.concrete import read_cure
from jobs.services.sky.cure import CureTold, tell_cure
from jobs.services.sky.forecast import keep_answer
from jobs.weather.errors import BadPlace
from tests.office import NOW, SLAB, SMALL_YARD, open_office, small_job

if TYPE_CHECKING:
    from jobs.models import Job

pytestmark = pytest.mark.django_db
NEW_YORK = ZoneInfo("America/New_York")
JUNE = datetime(2026, 6, 17, 14, tzinfo=NEW_YORK)
JANUARY = datetime(2027, 1, 13, 14, tzinfo=NEW_YORK)


@pytest.fixture
def job() -> Job:
    """One small yard near Asheville."""
    open_office()
    made = small_job()
    made.latitude, made.longitude = "35.57000", "-82.55000"
    made.save()
    return made


def days(told: CureTold, key: str, poured: datetime) -> float | None:
    """Return days from the pour to a date, None if there is none."""
    found = next(row for row in told.dates if row.key == key)
    return None if found.at is None else (found.at - poured) / timedelta(days=1)


def test_a_june_pour_is_ready_by_its_published_times(job: Job) -> None:
    """Nights stay above 50 F (NOAA normals: June low 16.4 C): forms and feet after a day, cured after seven."""
    told = tell_cure(job, JUNE, NOW, cement="Type I")
    assert [days(told, key, JUNE) for key in ("strip-forms", "foot", "cured")] == [1, 1, 7]
    assert 7 <= days(told, "stand-on", JUNE) <= 9
    assert (told.place, told.forecast_hours) == ("Asheville, NC", 0)


def test_a_footing_has_a_date_for_its_wall(job: Job) -> None:
    """Three days after a June pour, as the plan waits; a slab has none."""
    told = tell_cure(job, JUNE, NOW, cement="Type I", footing=True)
    assert days(told, "wall", JUNE) == 3
    assert "wall" not in {row.key for row in tell_cure(job, JUNE, NOW, cement="Type I").dates}


@pytest.mark.parametrize(
    ("cement", "cured"), [("Type II", "Wed 1 Jul, 2:00 pm"), ("Type I", "Wed 24 Jun, 2:00 pm")]
)
def test_the_story_of_a_pour_goes_by_the_cement_its_item_was_answered_with(cement, cured):
    """Two weeks for Type II and one for Type I (UFGS 03301A), as the plan waits."""
    open_office()
    yard = f'{SMALL_YARD}{SLAB}cement = "{cement}"\n'
    made = load_job(yard, by="test", now=NOW)
    made.latitude, made.longitude = "35.57000", "-82.55000"
    pour = made.activities.get(template="pour-slab")
    dates = read_cure(pour, JUNE, made, NOW, ()).dates
    assert [it.since for it in dates if it.what == "Cured: build on it"] == [cured]


def test_a_january_pour_takes_weeks_longer(job: Job) -> None:
    """Afternoons of 9 C: hours at 50 F are few, feet wait 48 h; nothing earlier than its least."""
    told = tell_cure(job, JANUARY, NOW, cement="Type I")
    assert days(told, "foot", JANUARY) == 2
    assert days(told, "stand-on", JANUARY) > 25
    cured = days(told, "cured", JANUARY)
    assert cured is None or cured > 30
    assert all(row.at is None or row.at >= row.least for row in told.dates)
    assert told.coldest < 32 < told.warmest < 55


def test_a_cold_forecast_is_felt(job: Job) -> None:
    """Eight days at 5 C from the pour on: hours known are told, forms stay on until it is over."""
    begin = f"{NOW.isoformat()}/P8D"
    layer = {"uom": "wmoUnit:degC", "values": [{"validTime": begin, "value": 5.0}]}
    answer = {"updateTime": NOW.isoformat(), "validTimes": begin, "temperature": layer}
    keep_answer(job, json.dumps({"properties": answer}), NOW)
    told = tell_cure(job, JUNE, NOW, cement="Type I")
    assert told.forecast_hours == 8 * 24 - 20
    assert days(told, "strip-forms", JUNE) > 8


def test_a_yard_nowhere_has_no_cure_dates(job: Job) -> None:
    """Told, with what to do."""
    job.latitude = None
    with pytest.raises(BadPlace, match="choose a place's climate"):
        tell_cure(job, JUNE, NOW, cement="Type I")
