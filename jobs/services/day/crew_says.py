"""What a crew says from its phone, put into the day log as the office would."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, BinaryIO, NamedTuple
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q

from jobs import models
from jobs.models.cause import Cause
from jobs.trade.work import Sentence

from .log_day import LogRefusedError, Said, log_day
from .photos import Snapshot, log_photo
from .take_back_line import take_back_line

if TYPE_CHECKING:
    from collections.abc import Iterable

    from django.db.models import QuerySet

    from crews.models import CrewPhone

KEPT_FOR = timedelta(days=3)
"""How long a tap may lie on a phone without a signal before its clock is not believed."""
Kind = models.DayLog.Kind


class Tap(NamedTuple):
    """A button pressed: its own number, what it says, and when by the phone's clock (None: now)."""

    client: UUID
    kind: str
    at: datetime | None = None
    share: int | None = None
    cause: str = ""
    note: str = ""


class Shot(NamedTuple):
    """A photo that was sent: its own number, the file, and what it shows."""

    client: UUID
    file: BinaryIO
    note: str = ""


def say_work(phone: CrewPhone, activity: models.Activity, tap: Tap, now: datetime) -> models.DayLog:
    """Log what a crew says of a work that is planned for it.

    Raises
    ------
    LogRefusedError
        If the work is not this crew's, or cannot be logged so.
    """
    if not _theirs(phone).filter(pk=activity.pk).exists():
        gone = {"work": activity.name, "crew": phone.crew.name}
        raise LogRefusedError(Sentence("log-elsewhere", gone))
    at = _believed(tap.at, now)
    said = Said(
        client=tap.client,
        activity=activity,
        day=_day(activity.job, at),
        kind=tap.kind,
        at=at,
        share=tap.share,
        crew=phone.crew,
        cause=tap.cause,
        note=tap.note,
    )
    return log_day(said, by=str(phone), now=now)


@transaction.atomic
def say_rained_out(
    phone: CrewPhone, works: Iterable[models.Activity], tap: Tap, now: datetime
) -> list[models.DayLog]:
    """Log rain against every work the crew has left today; the same tap twice counts once."""
    rain = tap._replace(kind=Kind.NOT_TODAY, cause=Cause.RAIN)
    return [
        say_work(phone, work, rain._replace(client=uuid5(tap.client, work.uid)), now)
        for work in works
    ]


def say_photo(phone: CrewPhone, job: models.Job, shot: Shot, now: datetime) -> models.DayLog:
    """Keep a photo of a yard in which the crew has work.

    Raises
    ------
    LogRefusedError
        If it is not this crew's yard, or the photo cannot be kept.
    """
    if not _theirs(phone).filter(job=job).exists():
        raise LogRefusedError(
            Sentence("log-elsewhere", {"work": job.name, "crew": phone.crew.name})
        )
    snapshot = Snapshot(
        client=shot.client, job=job, day=_day(job, now), at=now, note=shot.note, file=shot.file
    )
    return log_photo(snapshot, by=str(phone), now=now)


def _theirs(phone: CrewPhone) -> QuerySet[models.Activity]:
    """What is planned for the phone's crew, or for one it is lent to."""
    published = models.PlanRow.objects.filter(
        Q(crew=phone.crew) | Q(lent=phone.crew), plan__state=models.Plan.State.PUBLISHED
    )
    return models.Activity.objects.filter(plan_rows__in=published)


def take_back_said(phone: CrewPhone, pk: int, now: datetime) -> models.DayLog:
    """Take back what was said today on this phone, as by a thumb that slipped.

    Raises
    ------
    LogRefusedError
        If it was said by others, or on another day, or cannot be taken back.
    """
    today, by = now.date(), str(phone)
    line = models.DayLog.objects.filter(pk=pk, crew=phone.crew, day=today, by=by).first()
    if line is None:
        raise LogRefusedError(Sentence("log-not-yours"))
    return take_back_line(line, by=by, now=now)


def _believed(at: datetime | None, now: datetime) -> datetime:
    """Return when something was said: by the phone's clock unless that is plainly wrong."""
    if at is None or not now - KEPT_FOR <= at.astimezone(UTC) <= now:
        return now
    return at


def _day(job: models.Job, at: datetime) -> date:
    return at.astimezone(ZoneInfo(job.zone)).date()
