"""``backtest``: are the odds true on a record?"""

from __future__ import annotations

import json
from datetime import date, timedelta
from io import StringIO
from typing import TYPE_CHECKING, Any

import pytest
from django.core.management import CommandError, call_command

from jobs.scheduling.dice import Dice
from jobs.services.sky.backtest import backtest, known_by_year, load_record
from jobs.services.sky.climate import climates, near_of, rain_at
from jobs.weather.chain import chain_of
from jobs.weather.climate import by_name
from tests.renewal import coverage_slack

if TYPE_CHECKING:
    from pathlib import Path

    from jobs.weather.chain import Chain

FIRST = date(1996, 1, 1)


def invented(path: Path, chain: Chain, years: int, *, seed: int = 7) -> Path:
    """Write a record drawn from a known chain, the same all year: 3 mm on wet days, 20 mm on some."""
    dice, wet = Dice(seed, "record"), False
    lines = ["date,tmax_c,tmin_c,precip_mm"]
    for n in range(round(365.25 * years)):
        chance = chain.after_wet if wet else chain.after_dry
        wet = dice.whole(1, 1000) <= 1000 * chance
        heavy = dice.whole(1, 10) <= 3
        lines.append(f"{FIRST + timedelta(days=n)},20,10,{(20 if heavy else 3) if wet else 0}")
    path.write_text("\n".join(lines))
    return path


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Nine years of a chain with share 0.3 and memory 0.25."""
    return invented(tmp_path_factory.mktemp("records") / "made_up.csv", chain_of(0.3, 0.25), 9)


@pytest.fixture(scope="module")
def short(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six years of the same chain."""
    return invented(tmp_path_factory.mktemp("records") / "short.csv", chain_of(0.3, 0.25), 6)


@pytest.fixture(scope="module")
def rows(record: Path) -> list[dict[str, Any]]:
    """What the command prints of it as JSON, read once."""
    return json.loads(run(record, "--json"))


def run(*args: str | Path) -> str:
    """Run the command and return what it prints."""
    out = StringIO()
    call_command("backtest", *map(str, args), stdout=out, stderr=StringIO())
    return out.getvalue()


def test_a_record_of_a_known_chain_is_forecast_truly(rows: list[dict[str, Any]]) -> None:
    """Share of jobs done by the day said, against due: within three standard errors.

    Jobs overlap, so there are fewer independent ones than rows: 9 years of about 9 and 5 of them.
    """
    daily = [row for row in rows if row["model"] == "daily"]
    assert [(row["job"], row["dryout"]) for row in daily] == [
        (job, dryout) for job in (20, 40) for dryout in (0, 1, 2)
    ]
    for row in daily:
        independent = 81 if row["job"] == 20 else 45
        for due, seen, share in zip(row["exp"], row["obs"], (0.5, 0.8, 0.9), strict=True):
            assert abs(seen - due) < 1.5 * coverage_slack(independent, share)


def test_rows_have_the_keys_that_were_agreed(rows: list[dict[str, Any]]) -> None:
    """As JSON: record, job, dryout, model, n, obs, exp, crps; three figures each of P50, P80, P90."""
    assert {tuple(row) for row in rows} == {
        ("record", "job", "dryout", "model", "n", "obs", "exp", "crps")
    }
    assert {(row["record"], row["model"], len(row["obs"]), len(row["exp"])) for row in rows} == {
        ("made_up.csv", model, 3, 3) for model in ("daily", "monthly")
    }


def test_a_place_gives_the_monthly_figures_of_its_climate(short: Path) -> None:
    """Las Vegas hardly rains: jobs of a place with three wet days in ten come late, and it shows."""
    desert = rain_at(near_of(by_name(climates(), "Las Vegas")))
    rows = backtest("made up", load_record(short), desert)
    monthly = next(r for r in rows if (r["job"], r["dryout"], r["model"]) == (40, 0, "monthly"))
    assert monthly["obs"][2] < 0.1 < monthly["exp"][2]


def test_a_years_own_weather_never_enters_its_forecast(tmp_path: Path) -> None:
    """Two records that differ in 2002 and 2003 alone say the same of 2002, and not of 2001."""
    rains = []
    for mm in ("0", "5"):
        path = tmp_path / f"{mm}.csv"
        days = [FIRST + timedelta(days=n) for n in range(12 * 365)]
        wet = [mm if d.year in (2002, 2003) else "3" if d.day % 4 == 0 else "0" for d in days]
        rows = [f"{day},{rain}" for day, rain in zip(days, wet, strict=True)]
        path.write_text("\n".join(["date,precip_mm", *rows]))
        rains.append(known_by_year(load_record(path), None))
    dry, soaked = rains
    for model in ("daily", "monthly"):
        assert dry[model][2002] == soaked[model][2002]
        assert dry[model][2001] != soaked[model][2001]


def test_text_gives_a_line_a_row_and_means_over_records(short: Path, tmp_path: Path) -> None:
    """Two records: 12 rows each and 12 means, under one heading."""
    other = invented(tmp_path / "other.csv", chain_of(0.2, 0.1), 5, seed=3)
    lines = run(short, other).splitlines()
    assert len(lines) == 1 + 3 * 12
    assert lines[-1].startswith("mean of 2 records          40  2  monthly")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("date,precip_mm\n2015-01-01,0\n", "knows the rain of 1 days"),
        ("day,rain\n1,0\n", "needs the columns"),
    ],
)
def test_a_record_that_cannot_be_used_is_told(tmp_path: Path, content: str, told: str) -> None:
    """One line and exit code 2, never a traceback."""
    path = tmp_path / "bad.csv"
    path.write_text(content)
    with pytest.raises(CommandError, match=told) as error:
        run(path)
    assert error.value.returncode == 2


def test_a_file_that_is_not_there_or_no_text_is_told(tmp_path: Path) -> None:
    """And so is a place nobody knows."""
    picture = tmp_path / "picture.csv"
    picture.write_bytes(b"\x89PNG\xff\xfe\x00")
    with pytest.raises(CommandError, match="cannot be opened"):
        run(tmp_path / "none.csv")
    with pytest.raises(CommandError, match="not a table of text"):
        run(picture)
    with pytest.raises(CommandError, match="no place called 'Atlantis'"):
        run(picture, "--place", "Atlantis")
