"""Photos of a yard's day: decoded and written anew, bounded, and shown to who is signed in."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image

from crews.models import Role
from jobs.models import DayLog, Job, Photo
from jobs.services.day import photos
from jobs.services.day.log_day import LogRefusedError
from jobs.services.day.photos import Snapshot, log_photo, path_of, read_picture
from jobs.services.day.take_back_line import take_back_line
from tests.office import NOW, signed_in, yard_waiting_for_stone
from tests.pictures import PLACE, claims_to_be, picture

pytestmark = pytest.mark.django_db
BY = "Ana"
TODAY = NOW.date()


@pytest.fixture
def job(settings, tmp_path) -> Job:
    """A small yard with stone on its way; photos lie in a folder of the test."""
    settings.MEDIA_ROOT = tmp_path
    return yard_waiting_for_stone()


def basics(job: Job, **more: object) -> dict[str, object]:
    """What everything said has."""
    return {"client": uuid4(), "job": job, "day": TODAY, "at": NOW} | more


def shot(job: Job, data: bytes, **more: object) -> Snapshot:
    """A picture as it was sent."""
    return Snapshot(**basics(job, **more), file=io.BytesIO(data))


class TestPhotos:
    """Read with suspicion, written anew, bounded."""

    def test_nothing_but_the_pixels_is_kept(self, job):
        """Neither where the camera was nor anything else; upright and no larger than a page needs."""
        line = log_photo(shot(job, picture(3200, 1600, turned=True)), by=BY, now=NOW)
        kept = path_of(line.photo)
        assert PLACE in picture()
        assert PLACE not in kept.read_bytes()
        with Image.open(kept) as seen:
            assert (seen.format, seen.size, dict(seen.getexif())) == ("JPEG", (800, 1600), {})
            red, white = seen.getpixel((400, 200)), seen.getpixel((400, 1400))
        assert (red[0] > 180, red[1] < 60) == (True, True)
        assert min(white) > 240
        with Image.open(path_of(line.photo, small=True)) as seen:
            assert seen.size == (line.photo.small_width, line.photo.small_height) == (200, 400)
        assert kept.stat().st_mode & 0o777 == 0o600

    @pytest.mark.parametrize("kind", ["PNG", "WEBP"])
    def test_other_kinds_become_the_same(self, kind):
        """A picture of 80 by 40 stays 80 by 40."""
        assert [one.size for one in read_picture(io.BytesIO(picture(kind=kind)))] == [(80, 40)] * 2

    @pytest.mark.parametrize(
        ("data", "told"),
        [
            (b"", "no picture that can be read"),
            (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "no picture"),
            (b"GIF89a" + b"\0" * 40, "no picture"),
            (picture()[:300], "no picture"),
            (b"\xff\xd8\xff\xe0" + b"A" * 5000, "no picture"),
            (claims_to_be(60_000, 60_000), "no picture|million dots"),
            (claims_to_be(8_000, 8_000), "50 million dots"),
            (claims_to_be(900, 900), "no picture"),
            (b"\0" * 15_000_001, "15 MB"),
        ],
        ids=["empty", "svg", "gif", "cut-off", "noise", "bomb", "large", "short", "heavy"],
    )
    def test_hostile_files_are_refused_in_words(self, data, told):
        """Whatever the decoder would make of them."""
        with pytest.raises(LogRefusedError, match=told):
            read_picture(io.BytesIO(data))

    def test_what_is_refused_leaves_no_line(self, job):
        """Neither in the log nor on the disk."""
        with pytest.raises(LogRefusedError):
            log_photo(shot(job, b"no picture"), by=BY, now=NOW)
        assert (DayLog.objects.count(), Photo.objects.count()) == (0, 0)

    def test_files_that_no_photo_knows_are_swept_out(self, job):
        """Once they are a day old: a younger one may be about to get its row."""
        kept = path_of(log_photo(shot(job, picture()), by=BY, now=NOW).photo)
        lost = kept.with_name("left-by-a-job-that-is-gone.jpg")
        lost.write_bytes(b"x")
        written = lost.stat().st_mtime
        for hours, gone in ((23, 0), (25, 1)):
            assert photos.sweep(datetime.fromtimestamp(written + hours * 3600, tz=UTC)) == gone
        assert (lost.exists(), kept.exists()) == (False, True)

    def test_a_day_has_a_bound(self, job, monkeypatch):
        """The third is one too many where two are enough; sent again, the first is still there."""
        monkeypatch.setattr(photos, "MOST_A_DAY", 2)
        first = shot(job, picture())
        for one in (first, shot(job, picture())):
            log_photo(one, by=BY, now=NOW)
        with pytest.raises(LogRefusedError, match="2 photos a day are enough"):
            log_photo(shot(job, picture()), by=BY, now=NOW)
        assert log_photo(first, by=BY, now=NOW).client == first.client
        log_photo(replace(shot(job, picture()), day=TODAY - timedelta(days=1)), by=BY, now=NOW)
        assert Photo.objects.count() == 3

    def test_taken_back_its_files_are_gone(self, job):
        """That there was one stays in the log."""
        line = log_photo(shot(job, picture()), by=BY, now=NOW)
        address = reverse("photo", args=[line.photo.uid, "small"])
        assert signed_in().get(address).status_code == 200
        take_back_line(line, by=BY, now=NOW)
        assert not path_of(line.photo).exists()
        assert signed_in().get(address).status_code == 404

    def test_only_who_is_signed_in_sees_it(self, job):
        """As a JPEG and nothing else; strangers are sent to sign in."""
        line = log_photo(shot(job, picture()), by=BY, now=NOW)
        address = reverse("photo", args=[line.photo.uid, "large"])
        assert Client().get(address).status_code == 302
        answer = signed_in(Role.VIEWER).get(address)
        assert answer.content[:2] == b"\xff\xd8"
        assert (answer["Content-Type"], answer["X-Content-Type-Options"]) == (
            "image/jpeg",
            "nosniff",
        )
        assert answer["Cache-Control"].startswith("private")
