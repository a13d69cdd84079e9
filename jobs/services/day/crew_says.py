"""What a crew says from its phone, put into the day log as the office would."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q

from jobs import models
from jobs.models.cause import Cause
from jobs.trade.work import Sentence

from .log_day import LogRefusedError, Said, log_day
from .take_back_line import take_back_line

if TYPE_CHECKING:
    from collections.abc import Iterable

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


def say_work(phone: CrewPhone, activity: models.Activity, tap: Tap, now: datetime) -> models.DayLog:
    """Log what a crew says of a work that is planned for it.

    Raises
    ------
    LogRefusedError
        If the work is not this crew's, or cannot be logged so.
    """
    published = models.Plan.State.PUBLISHED
    theirs = Q(crew=phone.crew) | Q(lent=phone.crew)
    if not activity.plan_rows.filter(theirs, plan__state=published).exists():
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
