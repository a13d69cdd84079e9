"""Everything into one file and back: nothing lost, nothing half done, no phone that must be set up again."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from zipfile import ZipFile
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from crews.models import Crew
from crews.services.links import make_link
from jobs.models import HistoryEntry, Job
from jobs.services.upkeep import backup as backups
from jobs.services.upkeep.backup import (
    BackupError,
    keep_nightly,
    nightly,
    restore_backup,
    write_backup,
)
from tests.office import NOW, open_office, published_plan, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folders(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.BACKUPS = tmp_path / "backups"


@pytest.fixture
def busy():
    """A yard that is planned and published, with a phone that reads the crew's calendar."""
    open_office()
    small_job()
    published_plan()
    return make_link("crew:ground-crew", label="Phone", now=NOW)[1]


def everything():
    """Return every row as it is stored, moments to the microsecond."""
    return {
        table._meta.label: list(table._base_manager.order_by("pk").values_list())
        for table in backups._tables()
    }


def rewrite(file, name, change):
    """Change one part of a backup, as damage or malice would."""
    with ZipFile(file) as archive:
        parts = {part: archive.read(part) for part in archive.namelist()}
    parts[name] = change(parts.get(name, b""))
    with ZipFile(file, "w") as archive:
        for part, body in parts.items():
            archive.writestr(part, body)


def test_everything_comes_back_as_it_was(busy, tmp_path, settings, client):
    """Rows, photos and the phone's address: all as before, though all of it was changed in between."""
    photo = settings.MEDIA_ROOT / "photos" / "one.jpg"
    photo.parent.mkdir(parents=True)
    photo.write_bytes(b"a photo")
    feed = client.get(reverse("crews:feed", args=[busy])).content
    before = everything()
    kept = write_backup(tmp_path / "all.zip", NOW)
    assert (kept.rows, kept.files) == (sum(map(len, before.values())), 1)

    Job.objects.update(name="Another yard")
    HistoryEntry.objects.all().delete()
    photo.unlink()
    assert restore_backup(tmp_path / "all.zip", over=True) == kept
    assert everything() == before
    assert photo.read_bytes() == b"a photo"
    assert client.get(reverse("crews:feed", args=[busy])).content == feed


def test_new_rows_go_on_after_the_old_ones(busy, tmp_path):
    """Numbers given by the database don't begin again."""
    write_backup(tmp_path / "all.zip", NOW)
    last = Crew.objects.order_by("-pk").values_list("pk", flat=True)[0]
    restore_backup(tmp_path / "all.zip", over=True)
    week = Crew.objects.first().week
    assert Crew.objects.create(name="New", slug="new", week=week).pk > last


def test_what_is_there_does_not_go_unasked(busy, tmp_path):
    """Without ``over`` only an empty database is filled."""
    write_backup(tmp_path / "all.zip", NOW)
    before = everything()
    with pytest.raises(BackupError, match="something in this database already"):
        restore_backup(tmp_path / "all.zip")
    assert everything() == before


def test_a_backup_is_never_written_over(busy, tmp_path):
    """The older file stays."""
    file = tmp_path / "all.zip"
    file.write_bytes(b"older")
    with pytest.raises(BackupError, match="there already"):
        write_backup(file, NOW)
    assert file.read_bytes() == b"older"


def test_a_folder_that_is_not_there_is_told(busy, tmp_path):
    """Nothing is left lying about."""
    with pytest.raises(BackupError, match="cannot be written"):
        write_backup(tmp_path / "nowhere" / "all.zip", NOW)


def cut_a_row(body):
    return body[: body.rindex(b"\n", 0, -1) + 1]


def other_version(body):
    return json.dumps({**json.loads(body), "migrations": {"jobs": [], "crews": []}}).encode()


def more_rows(body):
    told = json.loads(body)
    return json.dumps({**told, "rows": {**told["rows"], "jobs.job": 7}}).encode()


@pytest.mark.parametrize(
    ("part", "change", "told"),
    [
        ("rows.jsonl", cut_a_row, "damaged"),
        ("manifest.json", other_version, "another version"),
        ("manifest.json", more_rows, "Not every row came back"),
        ("manifest.json", lambda _: b"{", "cannot be read"),
        ("media/../../out.jpg", lambda _: b"x", "outside its folder"),
    ],
)
def test_a_damaged_backup_changes_nothing(busy, tmp_path, part, change, told):
    """Rows cut off, another version, wrong counts, a file that would land elsewhere: refused, all as before."""
    file = tmp_path / "all.zip"
    write_backup(file, NOW)
    rewrite(file, part, change)
    before = everything()
    with pytest.raises(BackupError, match=told):
        restore_backup(file, over=True)
    assert everything() == before


@pytest.mark.parametrize("body", [b"", b"not a zip"])
def test_any_other_file_is_refused(busy, tmp_path, body):
    """With exit code 2 from the command."""
    file = tmp_path / "other.zip"
    file.write_bytes(body)
    with pytest.raises(CommandError, match="not a backup") as refused:
        call_command("restore", file, over=True)
    assert refused.value.returncode == 2


def test_a_file_that_is_not_there_is_told(tmp_path):
    """By its name."""
    with pytest.raises(CommandError, match="no file"):
        call_command("restore", tmp_path / "none.zip")


def test_fourteen_nights_are_kept(busy):
    """Written once a night from two o'clock on; the oldest go."""
    night = datetime(2026, 6, 1, 2, 5, tzinfo=ZoneInfo("America/New_York"))
    assert keep_nightly(night - timedelta(minutes=10)) is None
    for n in range(16):
        assert keep_nightly(night + timedelta(days=n)) is not None
    assert keep_nightly(night + timedelta(days=15, hours=9)) is None
    names = [file.name for file in nightly()]
    assert (len(names), names[0]) == (14, "yardwright-2026-06-03.zip")
