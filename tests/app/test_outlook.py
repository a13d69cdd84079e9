"""The outlook of a small yard: said, kept, reproducible, and made from what the page can name."""

from __future__ import annotations

import json
import tomllib
from datetime import date, timedelta
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from jobs.models import Activity, Job, Outlook, Plan
from jobs.scheduling.errors import SchedulingError
from jobs.services.pages.homeowner import read_homeowner
from jobs.services.pages.odds import delay_of
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.sky import climate
from jobs.services.sky.forecast import keep_answer
from jobs.services.sky.hazards import read_hazards
from jobs.services.sky.outlook import say_daily_outlook, say_outlook, stages_in
from jobs.services.world.read_world import read_world
from jobs.trade.stages import GROUNDWORK, STAGES
from jobs.weather.climate import Spot
from jobs.weather.errors import BadPlace
from tests.office import NOW, open_office, published_plan, signed_in, small_job

if TYPE_CHECKING:
    from typing import Any

pytestmark = pytest.mark.django_db
SAMPLES = Path(__file__).parents[1] / "samples" / "weather"
ASHEVILLE = ("35.57000", "-82.55000")


@pytest.fixture
def job() -> Job:
    """One small yard near Asheville, planned and published."""
    open_office()
    made = small_job()
    made.latitude, made.longitude = ASHEVILLE
    made.save()
    published_plan()
    return made


def run(*args: str) -> str:
    """Run the command and return what it prints."""
    out = StringIO()
    call_command("outlook", *args, stdout=out)
    return out.getvalue()


def invented_forecast(first: date, *, mm: float, pop: int) -> str:
    """Return a week's answer of the same rain each day, 12 to 24 C, 10 km/h."""
    whole = f"{first}T04:00:00+00:00/P8D"
    days = [f"{first + timedelta(days=n)}T04:00:00+00:00/P1D" for n in range(8)]

    def layer(unit: str, *values: tuple[str, float]) -> dict[str, Any]:
        return {
            "uom": f"wmoUnit:{unit}",
            "values": [{"validTime": t, "value": v} for t, v in values],
        }

    halves = [
        (day.replace("T04", hour).replace("P1D", "PT12H"), value)
        for day in days
        for hour, value in (("T04", 12.0), ("T16", 24.0))
    ]
    return json.dumps(
        {
            "properties": {
                "updateTime": f"{first}T10:00:00+00:00",
                "validTimes": whole,
                "quantitativePrecipitation": layer("mm", *((day, mm) for day in days)),
                "probabilityOfPrecipitation": layer("percent", (whole, pop)),
                "temperature": layer("degC", *halves),
                "windSpeed": layer("km_h-1", (whole, 10)),
            }
        }
    )  # fmt: skip


def test_an_outlook_is_said_and_kept(job: Job) -> None:
    """Planned and three dates in order, the promise's odds, and where the figures come from."""
    said = say_outlook(now=NOW, runs=200)
    kept = Outlook.objects.filter(job=job).first()
    assert kept is not None
    assert said.outlooks == (kept,)
    assert kept.planned <= kept.p50 <= kept.p80 <= kept.p90
    assert kept.plan == Plan.objects.get(state=Plan.State.PUBLISHED)
    assert (kept.basis["place"], kept.basis["far"], kept.basis["forecast_days"]) == (
        "Asheville, NC",
        False,
        0,
    )
    assert kept.basis["lost"]["rain-day"] > 0.02


def test_an_owner_is_never_told_a_day_sooner_than_planned(job: Job) -> None:
    """Even odds may lie before the planned finish, where work often goes faster: then the plan's day counts."""
    said = say_outlook(now=NOW, runs=20).outlooks[0]
    Outlook.objects.filter(pk=said.pk).update(p50=said.planned - timedelta(days=3))
    told = read_homeowner(job, NOW)
    assert told.likely == told.finish
    Outlook.objects.filter(pk=said.pk).update(p50=said.planned + timedelta(days=1))
    assert read_homeowner(job, NOW).likely != told.finish


def test_what_was_said_before_stays(job: Job) -> None:
    """Two days later another row is added; the first is the record."""
    say_outlook(now=NOW, runs=20)
    say_outlook(now=NOW + timedelta(days=2), runs=20)
    assert Outlook.objects.filter(job=job).count() == 2
    assert Outlook.objects.filter(job=job).first().said_at == NOW + timedelta(days=2)


def test_nothing_said_is_none(job: Job) -> None:
    """A job without an outlook has none, not an empty one."""
    assert Outlook.objects.filter(job=job).first() is None


def test_buffers_add_up_to_the_buffer_of_the_job(job: Job) -> None:
    """Stage by stage, to a tenth of a day each."""
    outlook = say_outlook(now=NOW, runs=200).outlooks[0]
    whole = (outlook.p80 - outlook.planned).total_seconds() / 86400
    assert sum(row["days"] for row in outlook.buffers) == pytest.approx(
        whole, abs=0.05 * (len(outlook.buffers) + 1)
    )
    assert [row["stage"] for row in outlook.buffers] == ["groundwork", "finish"]
    assert all(row["until"] <= row["p50"] <= row["p80"] for row in outlook.buffers)


def test_a_stage_that_is_over_has_no_buffer(job: Job) -> None:
    """All groundwork done: only the finish is left."""
    ground = job.activities.filter(template__in=STAGES[GROUNDWORK])
    ground.update(started_at=NOW - timedelta(days=2), finished_at=NOW - timedelta(days=1))
    planning = read_world(NOW)
    assert [stage for _, stage in stages_in(planning)] == ["finish"]


def test_the_buffers_stand_on_the_sheet_and_tell_how_they_shrank(job: Job) -> None:
    """In the picture, in the table and in the list for a phone, with the same words."""
    said = say_outlook(now=NOW, runs=50).outlooks[0]
    first = [row | {"whole": 9.0} for row in said.buffers]
    Outlook.objects.filter(pk=said.pk).update(buffers=first)
    now = say_outlook(now=NOW + timedelta(hours=1), runs=50).outlooks[0]
    last = [row | {"whole": 6.5, "risks": [{"id": "x", "name": "Haul soil", "days": 3.1}]}
            for row in now.buffers]  # fmt: skip
    Outlook.objects.filter(pk=now.pk).update(buffers=last)
    page = signed_in().get(reverse("sheet", args=[job.slug])).content.decode()
    words = "6.5 days, 9.0 when first said; the risk: haul soil, 3.1 of them"
    assert page.count(words) == 4 * len(last)
    assert "After groundwork" in page
    assert "At the end" in page


def test_promises_of_tomorrow_are_told_with_their_odds(job: Job) -> None:
    """A finish that is planned in time may still be likelier missed than kept."""
    job.promised_on = date(2026, 7, 31)
    job.save()
    said = say_outlook(now=NOW, runs=50).outlooks[0]
    for odds, words, marked in (
        (0.83, "Promise of Fri 31 Jul kept in 8 of 10 futures; safe to promise ", 0),
        (0.31, "Promise of Fri 31 Jul kept in 3 of 10 futures; safe to promise ", 1),
    ):
        Outlook.objects.filter(pk=said.pk).update(promise_odds=odds)
        box = signed_in().get(reverse("tomorrow")).content.decode().partition("Promises</h2>")[2]
        assert words in box
        assert box.count("needs-you") == marked


def test_the_odds_are_said_anew_each_day(job: Job) -> None:
    """Not twice on one; the first stays the record."""
    assert say_daily_outlook(NOW) is True
    assert say_daily_outlook(NOW + timedelta(hours=3)) is False
    assert say_daily_outlook(NOW + timedelta(days=1)) is True
    assert Outlook.objects.filter(job=job).count() == 2


def test_what_eats_the_days_is_named_worst_first(job: Job) -> None:
    """Each with its days and what is lost to which measure."""
    risks = say_outlook(now=NOW, runs=200).outlooks[0].risks
    assert risks
    assert [risk["days"] for risk in risks] == sorted((r["days"] for r in risks), reverse=True)
    assert Activity.objects.filter(uid__in=[risk["id"] for risk in risks]).count() == len(risks)
    assert {risk["job"] for risk in risks} == {job.uid}


@pytest.mark.parametrize(
    ("delay", "said"),
    [
        (
            {"pace": 2.96, "waits": 3.78, "weather": 4.27},
            "11.0 days lie between the planned finish and even odds, closed days included: "
            "slower work 2.9; longer waits 3.8; rain, wind and wet ground 4.3.",
        ),
        (
            {"pace": -0.74, "waits": 0.04, "weather": 2.2},
            "1.5 days lie between the planned finish and even odds, closed days included: "
            "slower work -0.7; rain, wind and wet ground 2.2.",
        ),
        ({"pace": 0.2, "waits": 0.1, "weather": 0.1}, ""),
    ],
)
def test_the_parts_of_the_delay_add_up_as_they_are_told(delay: dict[str, float], said: str) -> None:
    """Rounded each by itself, the first would read 3.0, 3.8 and 4.3 of 11.0."""
    assert delay_of(Outlook(basis={"delay": delay})) == said


def test_the_same_seed_says_the_same(job: Job) -> None:
    """And another seed another P80 or odds of the promise."""

    def dates(seed: int) -> list[Any]:
        return [
            (o.p50, o.p80, o.p90, o.risks)
            for o in say_outlook(now=NOW, runs=50, seed=seed, store=False).outlooks
        ]

    assert dates(3) == dates(3)
    assert dates(3) != dates(4)
    assert Outlook.objects.count() == 0


def test_a_yard_without_a_position_has_no_weather_and_says_so(job: Job) -> None:
    """Pace and waits still move its dates."""
    Job.objects.update(latitude=None, longitude=None)
    outlook = say_outlook(now=NOW, runs=100).outlooks[0]
    assert (outlook.basis["place"], outlook.basis["lost"]) == (None, {})
    assert outlook.p90 > outlook.planned


def test_a_fresh_forecast_speaks_for_its_days(job: Job) -> None:
    """Eight days of 10 mm with 90 % against eight dry ones: chances and days of reach."""
    today = NOW.date()
    keep_answer(job, invented_forecast(today, mm=10.0, pop=90), NOW)
    hazards, _, reach = read_hazards(read_world(NOW), NOW)
    known = hazards.places[job.uid].forecast
    assert (reach[job.uid], min(known)) == (8, today)
    assert {round(day.wet, 6) for day in known.values()} == {0.9}
    assert known[today] == (pytest.approx(0.9), 24.0, 12.0, pytest.approx(10 / 3.6))


def test_little_rain_is_seldom_a_wet_day_and_an_old_forecast_says_nothing(job: Job) -> None:
    """1.27 mm with 50 % is a quarter; a day later than a day old, climate speaks."""
    keep_answer(job, invented_forecast(NOW.date(), mm=1.27, pop=50), NOW)
    hazards, _, _ = read_hazards(read_world(NOW), NOW)
    assert hazards.places[job.uid].forecast[NOW.date()].wet == pytest.approx(0.25)
    later = NOW + timedelta(days=2)
    assert read_hazards(read_world(later), later)[2] == {job.uid: 0}


def test_a_forecast_that_leaves_rain_open_says_nothing(job: Job) -> None:
    """Layers without rain: never silently no rain."""
    sample = json.loads((SAMPLES / "04_missing_layers_seattle.json").read_text("utf-8"))
    keep_answer(job, json.dumps(sample["body"]), NOW)
    assert read_hazards(read_world(NOW), NOW)[2] == {job.uid: 0}


def test_the_command_says_dates_odds_and_reasons(job: Job) -> None:
    """As text, and as JSON with the keys that were agreed."""
    text = run("--runs", "50").splitlines()
    assert text[0].startswith(f"{job.name}: planned ")
    assert "climate of Asheville, NC, " in text[1]
    told = json.loads(run(job.slug, "--runs", "50", "--seed", "2", "--dry-run", "--json"))
    assert (told["runs"], told["seed"]) == (50, 2)
    assert list(told["jobs"][0]) == [
        "slug", "name", "planned", "p50", "p80", "p90", "promise", "promise_odds", "milestones",
        "buffers", "risks", "basis",
    ]  # fmt: skip
    assert Outlook.objects.count() == 1


def test_the_command_tells_what_it_cannot_do(job: Job) -> None:
    """A job nobody knows; no futures; each exits with 2."""
    with pytest.raises(CommandError, match="no planned job is called oak") as error:
        run("oak", "--runs", "5", "--dry-run")
    assert error.value.returncode == 2
    with pytest.raises(CommandError, match="ask for one or more"):
        run("--runs", "0")


def test_without_a_plan_there_is_nothing_to_look_ahead_with() -> None:
    """Plan first."""
    with pytest.raises(SchedulingError, match="plan the jobs first"):
        say_outlook(now=NOW)


def test_a_plan_of_another_world_is_told(job: Job) -> None:
    """An activity that came since is not in the plan."""
    Activity.objects.create(
        job=job, key="new", name="Something new", template="clear-site", skill="labour",
        quantity=1, unit="days", days_low=1, days=1, days_high=1, people=1, material="",
        detail={"weather": "W1"},
    )  # fmt: skip
    with pytest.raises(SchedulingError, match="knows nothing of Something new"):
        say_outlook(now=NOW)


def test_a_proposal_will_do_where_nothing_is_published() -> None:
    """The newest one."""
    open_office()
    small_job()
    made = plan_jobs(now=NOW, by="test")
    assert say_outlook(now=NOW, runs=5).outlooks[0].plan == made.plan


# -- climate -----------------------------------------------------------------------------------


def test_the_tables_hold_148_places_in_every_state() -> None:
    """All fifty states and the capital's district; Seattle in July is dry and warm (NOAA normals)."""
    places = climate.climates()
    seattle = next(place for place in places if place.name == "Seattle (Sea-Tac)")
    assert (len(places), len({place.state for place in places})) == (148, 51)
    assert (seattle.months[6].after_dry is not None, seattle.years) == (True, 15)
    assert seattle.months[6].wet_days < 3 < seattle.months[0].wet_days


def test_a_far_place_widens_the_odds_and_says_how_far() -> None:
    """The middle of the Pacific goes by Honolulu or Hilo, far, and as unsure as can be."""
    found = climate.climate_at(Spot(10.0, -150.0))
    assert found.near.far
    assert found.near.climate.state == "HI"
    assert found.rain.spread > 0.6


def test_a_place_can_be_chosen_and_a_record_loaded(job: Job, tmp_path: Path) -> None:
    """Another town by name; then a station's own days, which override its rain."""
    climate.choose_place(job, "Charlotte")
    chosen = climate.climate_of(job)
    assert (chosen.near.climate.label, chosen.chosen) == ("Charlotte, NC", True)
    path = tmp_path / "station.csv"
    days = [date(2015, 1, 1) + timedelta(days=n) for n in range(6 * 365)]
    path.write_text(
        "date,precip_mm\n" + "\n".join(f"{d},{5 if d.day % 3 == 0 else 0}" for d in days)
    )
    climate.use_record(job, path)
    own = climate.climate_of(job)
    assert own.record == "station.csv, 2015-2020, 0 days missing"
    assert own.rain.chains[3].after_wet < 0.05
    assert own.near.climate.label == "Charlotte, NC"


def test_a_yard_without_a_position_needs_a_chosen_place(job: Job) -> None:
    """Told without one; with one the place itself is the yard."""
    job.latitude = None
    with pytest.raises(BadPlace, match="has no position"):
        climate.climate_of(job)
    climate.choose_place(job, "Asheville")
    assert climate.climate_of(job).near.km == 0.0


def test_every_source_of_the_tables_is_named_with_its_credit() -> None:
    """Files of the folder and what their licences ask for."""
    told = tomllib.loads((climate.FOLDER / "SOURCES.toml").read_text("utf-8"))["source"]
    named = " ".join(source["file"] for source in told)
    assert all(path.name in named for path in climate.FOLDER.glob("*.csv"))
    assert all(source["credit"] and source["licence"] for source in told)
