"""Planning with weather: the forecast's slots within its reach, seasons beyond, no phantom rain."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from jobs.models import Activity, Job
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.sky.limits import limits_of
from jobs.services.files.load_job import load_job
from jobs.services.numbers.library import current_library
from jobs.services.pages.may import read_may
from jobs.services.sky.forecast import keep_answer
from jobs.services.sky.hazards import CURES, limits_of_work
from jobs.services.sky.weather_windows import weather_of, with_weather
from jobs.services.telling.words import say
from jobs.services.world.read_world import read_world
from jobs.trade.soil import SHADE, SHEETS
from jobs.trade.turf import HOT_MONTHS, ONLY_IN
from tests.office import NOW, SMALL_YARD, open_office, signed_in, small_job

if TYPE_CHECKING:
    from jobs.services.sky.weather_windows import JobWeather
    from jobs.trade.work import Sentence

pytestmark = pytest.mark.django_db
HERE = Path(__file__).resolve().parent
NEW_YORK = ZoneInfo("America/New_York")
DAY = 24 * 60
FIRST, LAST = 1, 4
TODAY = NOW.date()
"""Tuesday 16 June 2026, six in the evening."""


def week(*wet: date, chance: int = 90, celsius: float = 20.0) -> str:
    """Return an answer for 16 to 23 June, calm and of one temperature, 12 mm on some days from 7 to 15."""
    start = datetime(2026, 6, 16, tzinfo=NEW_YORK)
    rain = []
    for n in range(8):
        day = start + timedelta(days=n)
        mm = 12.0 if day.date() in wet else 0.0
        for hour, length, value in ((0, 7, 0.0), (7, 8, mm), (15, 9, 0.0)):
            begin = (day + timedelta(hours=hour)).isoformat()
            rain.append({"validTime": f"{begin}/PT{length}H", "value": value})
    whole = f"{start.isoformat()}/P8D"

    def layer(unit: str, value: float) -> dict[str, object]:
        return {"uom": f"wmoUnit:{unit}", "values": [{"validTime": whole, "value": value}]}

    return json.dumps(
        {
            "properties": {
                "updateTime": NOW.isoformat(),
                "validTimes": whole,
                "quantitativePrecipitation": {"uom": "wmoUnit:mm", "values": rain},
                "probabilityOfPrecipitation": layer("percent", chance),
                "temperature": layer("degC", celsius),
                "relativeHumidity": layer("percent", 50),
                "windSpeed": layer("km_h-1", 5),
            }
        }
    )


@pytest.fixture
def job() -> Job:
    """One small yard near Asheville."""
    open_office()
    made = small_job()
    made.latitude, made.longitude = "35.57000", "-82.55000"
    made.save()
    return made


def weather(job: Job, now: datetime = NOW) -> JobWeather:
    """Return what is known of the job's weather, on the world's own axes."""
    return weather_of([job], read_world(NOW).world.axes, now)[job.uid]


def why(job: Job, key: str, day: date, position: int) -> Sentence | None:
    """Return why work of a class cannot stand in a slot."""
    known = weather(job)
    limits = limits_of(current_library().weather[key])
    return known.why(limits, known.axis.slot(day, position))


def test_likely_rain_shuts_the_slot_to_a_pour_and_unlikely_rain_does_not(job: Job) -> None:
    """12 mm on Thursday with 90 %, then with 40 %."""
    thursday = date(2026, 6, 18)
    keep_answer(job, week(thursday), NOW)
    assert say(why(job, "W4", thursday, FIRST)) == (
        "Rain of 0.06 in/h while it is done; this work stands none."
    )
    keep_answer(job, week(thursday, chance=40), NOW)
    assert why(job, "W4", thursday, FIRST) is None


def test_what_only_the_forecast_shuts_is_told_apart(job: Job) -> None:
    """Futures draw Thursday themselves: every work that the plan keeps out of it may have it there."""
    thursday = date(2026, 6, 18)
    keep_answer(job, week(thursday), NOW)
    planning = with_weather(read_world(NOW), NOW)
    slot = planning.world.axes[job.zone].slot(thursday, FIRST)

    def shut(windows: dict[str, int | None]) -> set[str]:
        return {uid for uid, bits in windows.items() if bits is not None and not bits >> slot & 1}

    kept_out = shut({uid: work.window for uid, work in planning.world.works.items()})
    assert kept_out
    assert shut({uid: planning.windows[uid] for uid in kept_out}) == set()


def test_a_pour_is_given_its_whole_dry_window(job: Job) -> None:
    """Wednesday's last slot ends at 15:30, rain comes Thursday at 7: 15.5 h are more than 12.

    Thursday evening is dry for 36 h; Thursday's rain itself shuts 7 to 15.
    """
    keep_answer(job, week(date(2026, 6, 18)), NOW)
    assert why(job, "W4", date(2026, 6, 17), LAST) is None
    assert why(job, "W7", date(2026, 6, 17), LAST).key == "weather-dry-after"


def test_ground_stays_shut_while_it_dries(job: Job) -> None:
    """0.47 in on clay dries a day and a half: Friday's soil work is lost, Monday's is not."""
    Job.objects.update(soil="clay")
    job.refresh_from_db()
    keep_answer(job, week(date(2026, 6, 18)), NOW)
    assert why(job, "W2", date(2026, 6, 19), FIRST).key == "weather-drying"
    assert why(job, "W2", date(2026, 6, 22), FIRST) is None


def test_beyond_the_forecast_no_rain_is_drawn(job: Job) -> None:
    """From 24 June on every slot is open to soil work: June is warm enough here."""
    keep_answer(job, week(*(TODAY + timedelta(days=n) for n in range(8))), NOW)
    known = weather(job)
    limits = limits_of(current_library().weather["W2"])
    shut = known.by_forecast(limits) | known.by_season(limits)
    days = {known.axis.day(slot) for slot in range(known.axis.size) if shut >> slot & 1}
    assert max(day for day in days if day < date(2026, 9, 1)) == date(2026, 6, 23)


def test_months_too_cold_for_a_spray_are_shut(job: Job) -> None:
    """Mean afternoons at Asheville: October 21.0 C, November 15.3, March 15.8 (NOAA normals 2006-2020);
    a spray needs 60 F, 15.6 C."""
    known = weather(job)
    shut = known.by_season(limits_of(current_library().weather["W3"]))
    months = {known.axis.day(slot).month for slot in range(known.axis.size) if shut >> slot & 1}
    assert months == {11, 12, 1, 2}


@pytest.mark.parametrize(
    ("weed", "last"),
    [
        ("tall fescue or mixed lawn", date(2026, 10, 31)),
        ("bermuda or other runners", date(2026, 9, 30)),
    ],
)
def test_turf_that_sleeps_is_not_sprayed(job: Job, weed: str, last: date) -> None:
    """Mean air at Asheville: September 69 F, October 58, November 48 (NOAA normals 2006-2020); lawns grow
    from 50 F, runners from 60 F (extension, from memory)."""
    library, known = current_library(), weather(job)
    limits = limits_of_work(library, library.templates["spray-turf-1"], "W3", weed)
    shut = known.by_season(limits)
    open_days = [known.axis.day(slot) for slot in range(known.axis.size) if not shut >> slot & 1]
    assert max(day for day in open_days if day.year == TODAY.year) == last


def test_a_clear_sheet_is_laid_in_the_hot_months_only(job: Job) -> None:
    """June to August (UC IPM: hot season only), inside the forecast's reach too."""
    limits = limits_of(current_library().weather["W1"])
    known = weather(job)
    shut = known.by_season(limits, HOT_MONTHS)
    months = {known.axis.day(slot).month for slot in range(known.axis.size) if not shut >> slot & 1}
    assert months == {6, 7, 8}
    assert ONLY_IN["cover-solarise"] == HOT_MONTHS


@pytest.mark.parametrize(
    ("ground", "open_from"),
    [("", date(2026, 6, 21)), (SHADE, date(2026, 6, 22)), (SHEETS, date(2026, 6, 20))],
)
def test_ground_dries_as_it_lies(job: Job, ground: str, open_from: date) -> None:
    """0.55 in on loam until midnight of Thursday: a day and a half in the sun, a day more in shade,
    half as long under sheets; the first day that is free from seven on."""
    job.options = {"ground": ground}
    answer = week(date(2026, 6, 18)).replace("12.0", "14.0")
    keep_answer(job, answer, NOW)
    days = [date(2026, 6, 19) + timedelta(days=n) for n in range(4)]
    assert next(day for day in days if why(job, "W2", day, FIRST) is None) == open_from


def test_the_story_says_whether_it_may_be_done_and_why_not(job: Job) -> None:
    """Thursday rains until three, Friday the ground is wet; the days about them are free."""
    keep_answer(job, week(date(2026, 6, 18)), NOW)
    soil = Activity.objects.filter(job=job, detail__weather="W2", retired=False).first()
    told = read_may(soil, job, NOW)
    assert [(day.day, day.may) for day in told[:3]] == [
        ("Wed 17 Jun", "all day"),
        ("Thu 18 Jun", "not at all"),
        ("Fri 19 Jun", "not at all"),
    ]
    assert told[1].why.startswith("0.12 in of rain that day")
    page = signed_in().get(reverse("activity", args=[job.slug, soil.uid])).content.decode()
    assert "What the weather allows" in page
    outdoor = Activity.objects.filter(job=job, detail__weather="W1", retired=False).first()
    assert [day.may for day in read_may(outdoor, job, NOW)] == []
    keep_answer(job, week(), NOW)
    assert read_may(soil, job, NOW) == ()


def test_a_plan_made_with_weather_keeps_out_of_the_rain_and_is_sound(job: Job) -> None:
    """Rain on 22 and 23 June: no soil work stands there, and the judge agrees with the whole plan."""
    keep_answer(job, week(date(2026, 6, 22), date(2026, 6, 23)), NOW)
    planning = with_weather(read_world(NOW), NOW)
    placed = build_plan(planning.world).plan
    assert judge_plan(planning.world, placed).sound
    soil = Activity.objects.filter(job=job, detail__weather="W2", retired=False)
    starts = {planning.world.axes[job.zone].day(placed[work.uid].start) for work in soil}
    assert soil.exists()
    assert not starts & {date(2026, 6, 22), date(2026, 6, 23)}


def test_without_a_position_or_a_forecast_nothing_is_shut_for_rain(job: Job) -> None:
    """No position: no season either. An old forecast: seasons alone."""
    limits = limits_of(current_library().weather["W2"])
    keep_answer(job, week(date(2026, 6, 18)), NOW)
    assert weather(job, NOW + timedelta(days=2)).slots == {}
    job.latitude = None
    assert weather(job).by_season(limits) == 0


def test_a_work_that_no_slot_suits_keeps_them_all(job: Job) -> None:
    """Limits that neither forecast nor month can meet shut nothing for ever."""
    known = weather(job)
    never = limits_of(current_library().weather["W3"])
    arctic = known.__class__(known.axis, {}, known.warmth.__class__(
        (-30.0,) * 12, (-40.0,) * 12, known.warmth.swings, known.warmth.winds))  # fmt: skip
    assert arctic.by_season(never) == 0


@pytest.mark.parametrize("yards", [1, 3])
def test_two_queries_and_one_reading_however_many_yards(
    job: Job, yards: int, django_assert_num_queries
) -> None:
    """Yards of one street, soil and zone share the very slots; another soil has its own."""
    keep_answer(job, week(date(2026, 6, 18)), NOW)
    for number in range(5, 5 + 2 * (yards - 1), 2):
        other = load_job(SMALL_YARD.replace("3 Finch", f"{number} Finch"), by="test", now=NOW)
        Job.objects.filter(pk=other.pk).update(latitude=job.latitude, longitude=job.longitude)
    planning = read_world(NOW)
    with django_assert_num_queries(2):
        known = weather_of(planning.jobs.values(), planning.world.axes, NOW)
    assert len({id(one.slots) for one in known.values()}) == 1
    assert len(known) == yards
    Job.objects.filter(pk=job.pk).update(soil="clay")
    planning = read_world(NOW)
    known = weather_of(planning.jobs.values(), planning.world.axes, NOW)
    assert len({id(one.slots) for one in known.values()}) == min(yards, 2)


def mountain_yard() -> Job:
    """A slab in the mountains, of which no forecast is known."""
    yard = (HERE.parent.parent / "fixtures" / "demo" / "12-alder-bend.toml").read_text("utf-8")
    return load_job(yard, by="test", now=NOW)


def cold_adds(*poured: date) -> list[int]:
    """Minutes that cold adds to the cure of that slab, by the day it is poured."""
    world = with_weather(read_world(NOW), NOW).world
    first = world.axis.first
    cures = {tie.lag.amount: tie.lag.slower for tie in world.ties if tie.lag.wait in CURES}
    slower = cures[7 * DAY]
    return [slower[(day - first).days] for day in poured]


def test_concrete_cures_longer_in_a_cold_month():
    """Days with a low of 29 and a high of 49 F count for 0.43 each: a week's cure takes 16 days, in the plan itself."""
    open_office()
    mountain_yard()
    july, january = cold_adds(date(2026, 7, 10), date(2027, 1, 10))
    assert july == 0
    assert 8 * DAY <= january <= 10 * DAY


def test_within_its_reach_the_forecast_says_how_long_concrete_cures():
    """Twenty days at 5 C (41 F) in place of June's usual warmth are worth half: a week's cure takes two."""
    open_office()
    job = mountain_yard()
    usual = cold_adds(date(2026, 6, 18))
    begin = f"{NOW.isoformat()}/P20D"
    layer = {"uom": "wmoUnit:degC", "values": [{"validTime": begin, "value": 5.0}]}
    answer = {"updateTime": NOW.isoformat(), "validTimes": begin, "temperature": layer}
    keep_answer(job, json.dumps({"properties": answer}), NOW)
    assert (usual, cold_adds(date(2026, 6, 18))) == ([0], [7 * DAY])
