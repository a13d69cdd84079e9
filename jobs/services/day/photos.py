"""Photos of a day: read with suspicion, written anew without whatever else the file carried, kept bounded.

What is sent is never stored or served. A picture is decoded, turned upright, made no larger than a page needs,
and written as a plain JPEG in two sizes; place, time and device of the camera are gone with that.
"""

from __future__ import annotations

import io
import os
import warnings
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from django.conf import settings
from django.db import transaction
from PIL import Image, ImageOps

from jobs import models
from jobs.trade.work import Sentence

from .log_day import LogRefusedError
from .yard_log import Told, write_line

if TYPE_CHECKING:
    from datetime import datetime

MILLION = 1_000_000
MOST_BYTES = 15 * MILLION
MOST_PIXELS = 50 * MILLION
MOST_A_DAY = 24
"""Photos of one yard on one day."""
FORMATS = ("JPEG", "PNG", "WEBP")
LARGE, SMALL = 1600, 400
"""Longest edges in pixels."""
QUALITY = 80
LEFT_ALONE = timedelta(days=1)
"""Age from which a file without a photo is swept out; a younger one may be about to get its row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot(Told):
    """A picture as it was sent, of a work or of the yard."""

    file: BinaryIO
    about: models.Activity | None = None


@transaction.atomic
def log_photo(shot: Snapshot, *, by: str, now: datetime) -> models.DayLog:
    """Keep a photo with a line in the log; sent twice it is kept once.

    Raises
    ------
    LogRefusedError
        If it is too large, no picture, or one too many for the day.
    """
    models.Job.objects.select_for_update().get(pk=shot.job.pk)
    kept = models.Photo.objects.filter(line__job=shot.job, line__day=shot.day, gone=False)
    before = models.DayLog.objects.filter(client=shot.client).exists()
    if not before and kept.count() >= MOST_A_DAY:
        raise LogRefusedError(Sentence("photo-enough", {"most": MOST_A_DAY}))
    line, new = write_line(shot, models.DayLog.Kind.PHOTO, {"activity": shot.about}, (by, now))
    if new:
        large, small = read_picture(shot.file)
        photo = models.Photo.objects.create(
            line=line,
            width=large.width,
            height=large.height,
            small_width=small.width,
            small_height=small.height,
        )
        _write(large, path_of(photo))
        _write(small, path_of(photo, small=True))
    return line


def path_of(photo: models.Photo, *, small: bool = False) -> Path:
    """Return where a photo lies; names are ours, never those of a camera or a person."""
    name = f"{photo.uid}-small.jpg" if small else f"{photo.uid}.jpg"
    return Path(settings.MEDIA_ROOT) / "photos" / photo.line.job.uid / name


def forget(photo: models.Photo) -> None:
    """Delete the files of a photo; that there was one stays in the log."""
    for small in (False, True):
        path_of(photo, small=small).unlink(missing_ok=True)
    photo.gone = True
    photo.save(update_fields=["gone"])


def sweep(now: datetime) -> int:
    """Delete files a day old that no photo of the log knows, left by jobs that are gone; return how many."""
    known = models.Photo.objects.filter(gone=False).select_related("line__job")
    kept = {path_of(photo, small=small) for photo in known for small in (False, True)}
    late = (now - LEFT_ALONE).timestamp()
    files = (Path(settings.MEDIA_ROOT) / "photos").glob("*/*")
    lost = [file for file in files if file not in kept and file.stat().st_mtime < late]
    for file in lost:
        file.unlink(missing_ok=True)
    return len(lost)


def read_picture(file: BinaryIO) -> tuple[Image.Image, Image.Image]:
    """Return a picture upright, without anything but its pixels, in both sizes.

    Raises
    ------
    LogRefusedError
        If it is too large, or no picture of a kind we read.
    """
    size = file.seek(0, os.SEEK_END)
    if size > MOST_BYTES:
        raise LogRefusedError(Sentence("photo-heavy", {"most": MOST_BYTES // MILLION}))
    file.seek(0)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            return _decoded(file)
    except LogRefusedError:
        raise
    except Exception as error:  # a decoder fed hostile bytes may raise anything
        raise LogRefusedError(Sentence("photo-unreadable")) from error


def _decoded(file: BinaryIO) -> tuple[Image.Image, Image.Image]:
    with Image.open(file, formats=FORMATS) as picture:
        if picture.width * picture.height > MOST_PIXELS:
            raise LogRefusedError(Sentence("photo-large", {"most": MOST_PIXELS // MILLION}))
        picture.thumbnail((LARGE, LARGE))
        large = _on_white(ImageOps.exif_transpose(picture))
    small = large.copy()
    small.thumbnail((SMALL, SMALL))
    return large, small


def _on_white(picture: Image.Image) -> Image.Image:
    """Return only the pixels, whatever the file said besides; what is clear becomes white."""
    seen = picture.convert("RGBA")
    plain = Image.new("RGB", seen.size, "white")
    plain.paste(seen, mask=seen.getchannel("A"))
    return plain


def _write(picture: Image.Image, path: Path) -> None:
    """Write it whole or not at all, readable only by us."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    told = io.BytesIO()
    picture.save(told, "JPEG", quality=QUALITY, optimize=True)
    draft = path.with_suffix(".part")
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(told.getvalue())
    draft.replace(path)
