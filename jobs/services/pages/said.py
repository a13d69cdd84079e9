"""Reads what crews and office said today, for the evening's look at tomorrow."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import Q

from jobs import models
from jobs.services.day.yard_log import say_line
from jobs.services.telling.speech import say_time

if TYPE_CHECKING:
    from datetime import datetime

MOST = 40
Kind, Result = models.DayLog.Kind, models.DayLog.Result
MOVES = {Kind.NOT_TODAY, Kind.PART}
"""What is said of a work that may move others."""


class Saying(NamedTuple):
    """One line; ``moves`` if the plan may not stand after it."""

    when: str
    job: str
    slug: str
    what: str
    said: str
    by: str
    note: str
    moves: bool


def read_said(now: datetime, planned: datetime | None = None) -> tuple[Saying, ...]:
    """Return what was said since midnight, newest first, in one query; where it is too much, photos stay out first.

    Parameters
    ----------
    planned
        When the plan on show was published: it knows what was said before.
    """
    midnight = now.replace(hour=0, minute=0, second=0, microsecond=0)
    lines = models.DayLog.objects.filter(server_at__gte=midnight, corrected_by=None)
    lines = lines.exclude(kind=Kind.TAKEN_BACK)
    near = lines.select_related("job", "activity", "crew", "delivery")
    told = near.alias(shown=Q(kind=Kind.PHOTO)).order_by("shown", "-pk")[:MOST]
    return tuple(_saying(line, planned) for line in sorted(told, key=lambda line: -line.pk))


def _saying(line: models.DayLog, planned: datetime | None) -> Saying:
    cause = line.get_cause_display() if line.cause else ""
    known = planned is not None and line.server_at < planned
    failed = line.result in {Result.FAILED, Result.AGAIN}
    return Saying(
        when=say_time(line.server_at.astimezone(ZoneInfo(line.job.zone))),
        job=line.job.name,
        slug=line.job.slug,
        what=line.activity.name if line.activity else "the yard",
        said=say_line(line),
        by=line.by,
        note="; ".join(words for words in (cause, line.note) if words),
        moves=not known and (line.kind in MOVES or failed or line.complete is False),
    )
