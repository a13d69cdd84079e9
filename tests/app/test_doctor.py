"""Is the house in order? What is not is told with what to do."""

from __future__ import annotations

from datetime import datetime, timedelta
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.db import DatabaseError

from jobs.models import Job
from jobs.services.planning import solving
from jobs.services.upkeep import doctor
from jobs.services.upkeep.backup import keep_nightly
from jobs.services.upkeep.doctor import Health, look_over
from tests.office import open_office, published_plan, small_job

pytestmark = pytest.mark.django_db
TONIGHT = datetime(2026, 6, 22, 3, 0, tzinfo=ZoneInfo("America/New_York"))


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.DATA = tmp_path
    settings.BACKUPS = tmp_path / "backups"
    settings.MEDIA_ROOT = tmp_path / "media"
    tmp_path.chmod(0o700)


def told(word, now=TONIGHT):
    """Return the one finding that speaks of something."""
    (finding,) = [one for one in look_over(now) if word in one.says]
    return finding


def test_nothing_is_broken_in_a_new_house():
    """Much is still to do, and nothing is broken."""
    out = StringIO()
    call_command("doctor", stdout=out)
    assert [line for line in out.getvalue().splitlines() if line.startswith("broken")] == []
    assert told("No plan is published").health is Health.LOOK


def test_a_plan_that_fits_and_one_that_is_overtaken():
    """A changed start is told until somebody plans anew."""
    open_office()
    small_job()
    published_plan()
    assert told("on the phones").health is Health.WELL
    job = Job.objects.get()
    job.starts_on += timedelta(days=30)
    job.save()
    assert told("plan anew").health is Health.LOOK


def test_a_worker_is_seen_while_it_beats():
    """And missed when it left."""
    assert told("No worker is at work").health is Health.LOOK
    solving.beat("one")
    assert told("A worker is at work").health is Health.WELL
    solving.leave("one")
    assert told("No worker is at work").health is Health.LOOK


def test_backups_of_the_last_three_nights_count(settings):
    """Older ones don't."""
    assert told("no backup of the last three nights").health is Health.LOOK
    keep_nightly(TONIGHT)
    assert told("yardwright-2026-06-22.zip").health is Health.WELL
    later = TONIGHT + timedelta(days=4)
    assert told("no backup of the last three nights", later).health is Health.LOOK


def test_an_open_folder_is_told(settings):
    """With the command that shuts it."""
    settings.DATA.chmod(0o755)
    assert told("chmod 700").health is Health.LOOK


@pytest.mark.parametrize(
    ("url", "health"),
    [("http://127.0.0.1:8000", Health.LOOK), ("https://yards.example", Health.WELL)],
)
def test_an_address_that_no_phone_can_reach_is_told(settings, url, health):
    """Loopback is fine for a look, not for a crew."""
    settings.BASE_URL = url
    (finding,) = [
        one for one in look_over(TONIGHT) if "phone could" in one.says or "given" in one.says
    ]
    assert finding.health is health


def test_a_database_that_cannot_be_reached_is_broken(monkeypatch):
    """Told alone, with what lies outside it, and exit code 1."""

    def refuse(*_):
        raise DatabaseError("connection refused")

    monkeypatch.setattr(doctor, "MigrationExecutor", refuse)
    out = StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("doctor", stdout=out)
    assert left.value.code == 1
    assert "connection refused" in out.getvalue()
