"""The forecast of a yard over real HTTP: asked politely, kept, told with its age."""

from __future__ import annotations

import json
import socket
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import httpx
import pytest

from jobs.models import ForecastReading, Job
from jobs.services.sky import asking
from jobs.services.sky.asking import user_agent
from jobs.services.sky.forecast import keep_answer, latest
from jobs.services.sky.refresh import refresh
from jobs.weather.errors import BadPlace
from jobs.weather.reading import read_day
from jobs.weather.sources.source import BadAnswer
from tests.app.stub_server import Reply, Stub, serving

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.django_db
SAMPLES = Path(__file__).parents[1] / "samples" / "weather"
NOW = datetime(2026, 6, 1, 13, tzinfo=UTC)
POINT, GRID = "/points/38.58,-121.49", "/gridpoints/STO/41,68"
ALERTS = "/alerts/active?point=38.58,-121.49"


def body(name: str) -> bytes:
    """Return the body of an invented answer."""
    told = json.loads((SAMPLES / f"{name}.json").read_text("utf-8"))["body"]
    return told.encode() if isinstance(told, str) else json.dumps(told).encode()


def good(**headers: str) -> Reply:
    """Return the ordinary answer."""
    return Reply(body=body("01_ordinary_sacramento"), headers=headers)


@pytest.fixture
def stub(settings: Any) -> Iterator[Stub]:
    """A service that knows the place, its forecast and no alerts."""
    with serving() as made:
        settings.FORECAST_URL = made.address
        made.on(POINT, Reply(body=body("13_points_sacramento")))
        made.on(GRID, good(ETag='"a"', **{"Last-Modified": "Mon, 01 Jun 2026 05:12:00 GMT"}))
        made.on(ALERTS, Reply(body=b'{"features": []}'))
        yield made


@pytest.fixture
def job() -> Job:
    """A yard in Sacramento."""
    return Job.objects.create(
        slug="elm",
        name="4 Elm Court",
        us_state="CA",
        zone="America/Los_Angeles",
        latitude="38.58",
        longitude="-121.49",
        starts_on=date(2026, 6, 1),
    )


def asked_again(job: Job, minutes: int) -> ForecastReading:
    """Return the reading after asking so many minutes later."""
    return refresh(job, NOW + timedelta(minutes=minutes))


def test_a_yard_asks_where_it_is_what_comes_and_which_alerts(stub: Stub, job: Job) -> None:
    """Three questions; the answer says 5.673 mm for 3 June, as the sample's own table does."""
    row = refresh(job, NOW)
    told = latest(job, NOW)
    assert stub.paths() == [POINT, GRID, ALERTS]
    assert (row.good_at, row.failure, row.zone) == (NOW, "", "America/Los_Angeles")
    assert (told.stale, told.age_hours, told.failure) == (False, pytest.approx(7.8), "")
    wednesday = read_day(told.hours, date(2026, 6, 3), told.zone)
    assert wednesday.rain_mm == pytest.approx(5.673, abs=0.0005)


def test_the_service_is_told_who_asks_and_for_what(stub: Stub, job: Job) -> None:
    """A user agent with a way to reach the owner, and the kind of answer wanted."""
    refresh(job, NOW)
    heads = stub.asked[1][1]
    assert heads["User-Agent"] == user_agent()
    assert user_agent().startswith("Yardwright/")
    assert "(" in user_agent()
    assert heads["Accept"] == "application/geo+json"


def test_it_is_not_asked_again_within_the_hour(stub: Stub, job: Job) -> None:
    """59 minutes later nothing goes out; after an hour only what changes is asked for."""
    refresh(job, NOW)
    asked_again(job, 59)
    assert len(stub.asked) == 3
    asked_again(job, 60)
    assert stub.paths()[3:] == [GRID, ALERTS]


@pytest.mark.parametrize(
    ("said", "minutes"),
    [("max-age=9000", 150), ("public, max-age=60", 60), ("max-age=999999", 360)],
)
def test_the_service_says_how_long_an_answer_is_good(
    stub: Stub, job: Job, said: str, minutes: int
) -> None:
    """Two and a half hours are kept; a minute is an hour, eleven days are six hours."""
    stub.on(GRID, good(**{"Cache-Control": said}))
    assert refresh(job, NOW).not_before == NOW + timedelta(minutes=minutes)


def test_what_has_not_changed_is_not_sent_again(stub: Stub, job: Job) -> None:
    """Validators go out; 304 keeps the body and counts as good."""
    first = refresh(job, NOW)
    stub.on(GRID, Reply(304))
    row = asked_again(job, 61)
    heads = stub.asked[3][1]
    assert (heads["If-None-Match"], heads["If-Modified-Since"]) == (
        '"a"',
        "Mon, 01 Jun 2026 05:12:00 GMT",
    )
    assert (row.body, row.good_at) == (first.body, NOW + timedelta(minutes=61))


FAILURES = {
    "a page": (Reply(body=body("06_html_block_page")), "answered with a page, not with data"),
    "a 503": (Reply(503, body("07_http_503")), "answered 503"),
    "no figures": (Reply(body=body("08_empty_values_houston")), "holds no figures"),
    "another shape": (Reply(body=b"[1, 2]"), "data of another shape"),
    "hanging up": (Reply(drop=True), "cannot be reached"),
    "no text": (Reply(body=b"\xff\xfe\xfd"), "answered with a page, not with data"),
}


@pytest.mark.parametrize("case", FAILURES)
def test_a_failure_keeps_the_last_good_forecast_and_says_why(
    stub: Stub, job: Job, case: str
) -> None:
    """It is shown with its age, 8.8 h; the next try waits five minutes."""
    reply, why = FAILURES[case]
    refresh(job, NOW)
    stub.on(GRID, reply)
    row = asked_again(job, 60)
    told = latest(job, NOW + timedelta(minutes=60))
    assert why in row.failure
    assert told.failure == row.failure
    assert (told.age_hours, told.stale) == (pytest.approx(8.8), False)
    assert row.not_before == NOW + timedelta(minutes=65)


def test_without_any_good_answer_climate_speaks(stub: Stub, job: Job) -> None:
    """No hours, stale, and the reason."""
    stub.on(GRID, Reply(503))
    refresh(job, NOW)
    told = latest(job, NOW)
    assert (told.hours, told.stale, told.age_hours) == (None, True, None)
    assert told.failure == "the forecast service answered 503"


def test_each_failure_is_waited_out_longer(stub: Stub, job: Job) -> None:
    """5, 10 and 20 minutes; never more than six hours; one good answer and all is well."""
    stub.on(GRID, Reply(500), Reply(500), Reply(500), good())
    moments, now = [], NOW
    for _ in range(3):
        row = refresh(job, now)
        moments.append((row.not_before - now).total_seconds() / 60)
        now = row.not_before
    assert moments == [5, 10, 20]
    assert (refresh(job, now).failures, latest(job, now).failure) == (0, "")


def test_ten_failures_wait_six_hours(stub: Stub, job: Job) -> None:
    """The longest pause there is."""
    stub.on(GRID, Reply(500))
    ForecastReading.objects.create(source="nws", key="38.5800,-121.4900", failures=9)
    assert refresh(job, NOW).not_before == NOW + timedelta(hours=6)


@pytest.mark.parametrize(
    ("said", "minutes"),
    [("1800", 30), ("Mon, 01 Jun 2026 14:00:00 GMT", 60), ("soon", 5), ("99999999", 360)],
)
def test_a_service_that_asks_to_be_left_alone_is(
    stub: Stub, job: Job, said: str, minutes: int
) -> None:
    """Seconds or a date; nonsense is the usual five minutes, six hours the most."""
    stub.on(GRID, Reply(429, headers={"Retry-After": said}))
    assert refresh(job, NOW).not_before == NOW + timedelta(minutes=minutes)


def test_a_grid_square_that_is_gone_is_looked_up_anew(stub: Stub, job: Job) -> None:
    """Squares are renumbered now and then: 404, where, and what again."""
    refresh(job, NOW)
    stub.on(GRID, Reply(404), good())
    row = asked_again(job, 60)
    assert stub.paths()[3:] == [GRID, POINT, GRID, ALERTS]
    assert row.failure == ""


def test_a_move_within_the_service_is_followed_and_to_another_host_is_not(
    stub: Stub, job: Job
) -> None:
    """The second is a failure like any other."""
    stub.on("/new", good())
    stub.on(GRID, Reply(301, headers={"Location": "/new"}))
    assert refresh(job, NOW).failure == ""
    stub.on(GRID, Reply(301, headers={"Location": "http://localhost:1/elsewhere"}))
    assert asked_again(job, 60).failure == "the forecast service answered 301"


def test_alerts_that_fail_do_not_spoil_a_good_forecast(stub: Stub, job: Job) -> None:
    """The forecast is good; the last good alerts stay."""
    stub.on(ALERTS, Reply(body=body("12_alerts_atlanta")), Reply(500))
    refresh(job, NOW)
    row = asked_again(job, 60)
    assert row.failure == ""
    assert [a.event for a in latest(job, NOW).alerts if a.counts] == [
        "Flash Flood Warning",
        "Heat Advisory",
        "Special Weather Statement",
    ]


def test_far_too_much_is_not_swallowed(
    stub: Stub, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A body over the limit is dropped while it comes."""
    monkeypatch.setattr(asking, "MOST_BYTES", 1000)
    assert refresh(job, NOW).failure == "the forecast service sends far too much"


def test_a_service_that_does_not_answer_in_time_is_told(
    job: Job, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A socket that takes the call and says nothing."""
    with socket.create_server(("127.0.0.1", 0)) as silent:
        settings.FORECAST_URL = f"http://127.0.0.1:{silent.getsockname()[1]}"
        monkeypatch.setattr(asking, "TIMEOUT", httpx.Timeout(0.05))
        failure = refresh(job, NOW).failure
    assert failure == "the forecast service cannot be reached (too slow)"


def test_a_yard_without_a_position_has_no_forecast(job: Job) -> None:
    """And one at 91 north neither."""
    job.latitude = None
    with pytest.raises(BadPlace, match="has no position"):
        refresh(job, NOW)
    job.latitude = 91
    with pytest.raises(BadPlace, match="nowhere on the earth"):
        latest(job, NOW)


def test_a_pretended_day_asks_nobody(job: Job, settings: Any) -> None:
    """The demo's June has no service: nothing goes out, nothing is stored as a failure."""
    settings.FORECAST_URL = ""
    settings.TODAY = "2026-06-16"
    row = refresh(job, NOW)
    assert (row.tried_at, row.failure) == (None, "")


def test_yards_of_one_street_share_a_reading(stub: Stub, job: Job) -> None:
    """The same four decimals are asked for once."""
    refresh(job, NOW)
    job.pk, job.slug, job.uid = None, "elm-6", "other"
    job.save()
    refresh(job, NOW)
    assert (len(stub.asked), ForecastReading.objects.count()) == (3, 1)


def test_an_answer_may_be_kept_by_hand(job: Job) -> None:
    """The invented forecast of a demo; what is none is refused, and nothing goes out."""
    keep_answer(job, body("01_ordinary_sacramento").decode(), NOW)
    assert latest(job, NOW).age_hours == pytest.approx(7.8)
    with pytest.raises(BadAnswer, match="not with data"):
        keep_answer(job, "no forecast", NOW)


def test_a_stored_answer_that_can_no_longer_be_read_is_told(job: Job) -> None:
    """Climate speaks then; no page breaks."""
    ForecastReading.objects.create(
        source="nws", key="38.5800,-121.4900", body="{}", zone="Nowhere/Land"
    )
    told = latest(job, NOW)
    assert (told.hours, told.zone.key) == (None, "UTC")
    assert told.failure == "the service answered with data of another shape"
