"""What was said against what happened, and the command that says where a climate comes from."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from io import StringIO
from typing import TYPE_CHECKING

import pytest
from django.core.management import CommandError, call_command

from jobs.models import Activity, Job, Outlook
from jobs.services.sky.outlook_record import Record, read_record
from tests.office import NOW, open_office, small_job

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.django_db


def said(job: Job, at: datetime, *days: int) -> None:
    """Say P50, P80 and P90 so many days after."""
    p50, p80, p90 = (at + timedelta(days=n) for n in days)
    Outlook.objects.create(job=job, said_at=at, runs=1, planned=p50, p50=p50, p80=p80, p90=p90)


def yard(name: str, finished: datetime | None) -> Job:
    """Return a yard with one work, done or not."""
    job = Job.objects.create(slug=name, name=name, us_state="NC", starts_on=NOW.date())
    Activity.objects.create(
        job=job, key="x", name="Dig", template="dig-out", skill="grading", quantity=1, unit="yd3",
        days_low=1, days=1, days_high=1, people=1, material="", finished_at=finished,
        started_at=finished and finished - timedelta(hours=4),
    )  # fmt: skip
    return job


def test_nothing_done_is_no_record() -> None:
    """A job under way counts for nothing, whatever was said."""
    said(yard("oak", None), NOW, 5, 8, 10)
    assert read_record() == Record((), 0, None)


def test_each_job_counts_once_by_what_was_said_first() -> None:
    """Oak: said 5, 8, 10 days, done on day 7; said again later and closer. Elm: done on day 20.

    One of two by P80 and P90, none by P50.
    """
    oak, elm = yard("oak", NOW + timedelta(days=7)), yard("elm", NOW + timedelta(days=20))
    said(oak, NOW, 5, 8, 10)
    said(oak, NOW + timedelta(days=6), 1, 2, 3)
    said(elm, NOW, 5, 8, 10)
    record = read_record()
    assert (record.jobs, record.shares) == (2, (0.0, 0.5, 0.5))
    assert [row.kept for row in record.rows] == [
        (False, True, True),
        (False, False, False),
        (True, True, True),
    ]


def test_what_is_said_when_all_is_done_is_no_forecast() -> None:
    """An outlook after the finish is left out."""
    oak = yard("oak", NOW)
    said(oak, NOW + timedelta(days=1), 1, 2, 3)
    assert read_record().rows == ()


def test_the_climate_of_a_yard_is_shown_and_changed(tmp_path: Path) -> None:
    """The nearest place, then another by name, then a record; nonsense is told and exits with 2."""
    open_office()
    job = small_job()
    Job.objects.update(latitude="35.57000", longitude="-82.55000")

    def run(*args: str) -> list[str]:
        out = StringIO()
        call_command("climate", job.slug, *args, stdout=out)
        return out.getvalue().splitlines()

    path = tmp_path / "station.csv"
    days = [date(2015, 1, 1) + timedelta(days=n) for n in range(6 * 365)]
    path.write_text("date,precip_mm\n" + "\n".join(f"{d},{d.day % 5}" for d in days))
    assert run()[0].startswith("Asheville, NC, ")
    assert run("--place", "Seattle")[0].endswith(" km away, which is far: the odds are widened")
    assert (
        run("--record", str(path))[1] == "rain counted from station.csv, 2015-2020, 0 days missing"
    )
    with pytest.raises(CommandError, match="no place called 'Atlantis'") as error:
        run("--place", "Atlantis")
    assert error.value.returncode == 2
    with pytest.raises(CommandError, match="no job called oak"):
        call_command("climate", "oak")
