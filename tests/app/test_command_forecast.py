"""``forecast``: what an answer says by local day and slot."""

from __future__ import annotations

import json
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from jobs.models import Job
from tests.app.stub_server import Reply, serving

SAMPLES = Path(__file__).parents[1] / "samples" / "weather"
EXPECTED = json.loads((SAMPLES / "expected.json").read_text("utf-8"))["samples"]


def run(*args: str | Path) -> str:
    """Run the command and return what it prints."""
    out = StringIO()
    call_command("forecast", *map(str, args), stdout=out)
    return out.getvalue()


@pytest.mark.parametrize("name", EXPECTED)
def test_every_sample_says_what_its_table_says(name: str) -> None:
    """Fourteen invented answers; the table beside them was worked out by its own rules."""
    assert json.loads(run("--file", SAMPLES / f"{name}.json", "--json")) == EXPECTED[name]


def test_text_says_what_is_known_of_each_day() -> None:
    """Half of 11 May is known; the forecast is six and a half hours old."""
    lines = run("--file", SAMPLES / "03_null_values_chicago.json").splitlines()
    assert lines[:3] == [
        "grid, usable",
        "made 6.5 h before 2026-05-11T12:00:00+00:00",
        "2026-05-11  9 to 20 C, rain 0.5 mm (known for 50% of the day), 60 %, wind to 22 km/h",
    ]


def test_text_says_that_rain_is_not_known() -> None:
    """A layer that is not there is a question mark, not zero."""
    lines = run("--file", SAMPLES / "04_missing_layers_seattle.json").splitlines()
    assert lines[2] == "2026-10-05  8 to 16 C, rain ?, 80 %, wind to ? km/h"


def test_text_of_alerts_and_of_no_forecast() -> None:
    """Alerts by day; a page of some guard is not usable."""
    assert run("--file", SAMPLES / "12_alerts_atlanta.json").splitlines() == [
        "alerts, usable",
        "2026-06-09  Flash Flood Warning, Special Weather Statement",
        "2026-06-10  Heat Advisory",
    ]
    assert run("--file", SAMPLES / "06_html_block_page.json") == (
        "not_json, not usable: climate speaks\n"
    )


@pytest.mark.parametrize(
    "content", ["no json", "{}", "[]", '{"now": "x", "timezone": "UTC", "body": 1}']
)
def test_a_file_that_is_no_saved_answer_is_told(tmp_path: Path, content: str) -> None:
    """One line, exit code 2."""
    path = tmp_path / "odd.json"
    path.write_text(content)
    with pytest.raises(CommandError, match="save the answer as JSON") as error:
        run("--file", path)
    assert error.value.returncode == 2


def test_it_wants_a_job_or_a_file() -> None:
    """Neither, and a file that is not there."""
    with pytest.raises(CommandError, match="name a job, or a saved answer"):
        run()
    with pytest.raises(CommandError, match="cannot be opened"):
        run("--file", SAMPLES / "none.json")


@pytest.mark.django_db
def test_a_job_is_asked_for_over_the_network(settings: Any) -> None:
    """With the service down: no forecast, the reason, and exit code 0, for climate speaks."""
    settings.TODAY = "2026-06-01"
    Job.objects.create(
        slug="elm", name="4 Elm Court", us_state="CA", starts_on=date(2026, 6, 1),
        latitude="38.58", longitude="-121.49",
    )  # fmt: skip
    with serving() as stub:
        settings.FORECAST_URL = stub.address
        stub.on("/points/38.58,-121.49", Reply(503))
        told = json.loads(run("elm", "--json"))
    assert (told["kind"], told["usable"], told["failure"]) == (
        "none",
        False,
        "the forecast service answered 503",
    )


@pytest.mark.django_db
def test_a_job_nobody_knows_is_told() -> None:
    """One line, exit code 2."""
    with pytest.raises(CommandError, match="no job called oak"):
        run("oak")
