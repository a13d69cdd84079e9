"""The day log of a work: what was done of it, append-only; it feeds what the next plan takes as fact.

What else is said of a yard's day stands in ``yard_log``, how a line is taken back in ``take_back_line``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.db import transaction

from jobs import models
from jobs.services.calendar.publish import tell_again
from jobs.services.causes.lose_days import DAY_SLOTS, Lost, lose_days
from jobs.services.history import Who, record
from jobs.services.telling.words import say
from jobs.services.turns import take_turn
from jobs.trade.work import Sentence

from .under_way import set_off

if TYPE_CHECKING:
    from uuid import UUID

    from crews.models import Crew

WHOLE = 100
LEAST = timedelta(hours=2)
"""What is done the moment it began took a slot at least."""
Kind = models.DayLog.Kind


class LogRefusedError(ValueError):
    """Why something cannot be logged: the sentence to show beside the form, one of the catalogue where crews read it."""

    def __init__(self, why: str | Sentence) -> None:
        super().__init__(why if isinstance(why, str) else say(why))
        self.why = why

    @property
    def key(self) -> str:
        """Which sentence of the catalogue it is; empty for one that only the office reads."""
        return "" if isinstance(self.why, str) else self.why.key

    def said(self, language: str, **values: str) -> str:
        """Return why in a language, with what is called otherwise in it."""
        if isinstance(self.why, str):
            return self.why
        return say(Sentence(self.why.key, {**self.why.values, **values}), language)


@dataclass(frozen=True, slots=True)
class Said:
    """What somebody says of a work on a day.

    Attributes
    ----------
    client
        Made where it was said; the same one twice counts once.
    share
        Percent of the whole work that is done; ``quantity`` says it in the work's own unit instead.
    at
        When it was said, by the clock of the device.
    """

    client: UUID
    activity: models.Activity
    day: date
    kind: str
    at: datetime
    share: int | None = None
    quantity: Decimal | None = None
    crew: Crew | None = None
    people: int | None = None
    cause: str = ""
    note: str = ""


@transaction.atomic
def log_day(said: Said, *, by: str, now: datetime) -> models.DayLog:
    """Write one line of the log and bring the work up to it.

    Returns
    -------
    DayLog
        The line; the one written before where the same was sent twice.

    Raises
    ------
    LogRefusedError
        If the day is yet to come, the share is none, or the work was over before.
    """
    before = models.DayLog.objects.filter(client=said.client).first()
    if before is not None:
        return before
    take_turn()
    activity = models.Activity.objects.select_for_update().get(pk=said.activity.pk)
    share = _check(said, activity, now)
    line = _line(said, activity, share, Who(by, now))
    if said.kind == Kind.NOT_TODAY:
        _not_today(said, line, by, now)
    elif said.kind != Kind.NOTE:
        _bring_up(said, activity, share, now)
        set_off(activity.job, by=by, now=now)
    if said.kind == Kind.DONE:
        tell_again(activity.job, now=now)
    record(
        "day log",
        by=by,
        at=now,
        job=activity.job,
        after={"work": activity.name, "said": line.get_kind_display(), "share": share},
    )
    return line


def _line(said: Said, activity: models.Activity, share: int | None, who: Who) -> models.DayLog:
    """Write the line itself, with how the work stood before it."""
    return models.DayLog.objects.create(
        stood=None if said.kind == Kind.NOTE else stood(activity),
        client=said.client,
        job=activity.job,
        activity=activity,
        day=said.day,
        kind=said.kind,
        share=share,
        quantity=said.quantity,
        crew=said.crew,
        people=said.people,
        cause=said.cause,
        note=said.note,
        by=who.by,
        device_at=said.at,
        server_at=who.now,
    )


def check_day(job: models.Job, day: date, now: datetime) -> None:
    """Refuse a day that is yet to come on the yard's own clock.

    Raises
    ------
    LogRefusedError
        With what to do instead.
    """
    if day > now.astimezone(ZoneInfo(job.zone)).date():
        raise LogRefusedError(Sentence("log-day-ahead"))


def _check(said: Said, activity: models.Activity, now: datetime) -> int | None:
    check_day(activity.job, said.day, now)
    if activity.finished_at is not None and said.kind != Kind.NOTE:
        raise LogRefusedError(Sentence("log-done-before", {"work": activity.name}))
    share = said.share
    if share is None and said.quantity is not None and activity.quantity > 0:
        share = int(min(Decimal(WHOLE), said.quantity * WHOLE / activity.quantity))
    if said.kind == Kind.DONE:
        return WHOLE
    if said.kind == Kind.NOTE and not said.note:
        raise LogRefusedError(Sentence("log-no-words"))
    if said.kind == Kind.PART and (share is None or not 0 < share < WHOLE):
        raise LogRefusedError(Sentence("log-how-much"))
    return share


def _bring_up(said: Said, activity: models.Activity, share: int | None, now: datetime) -> None:
    row = _planned(activity)
    if activity.started_at is None:
        activity.started_at = _began(said, activity, row)
    if activity.done_crew is None:
        activity.done_crew = said.crew or (row.crew if row else None)
    if share is not None:
        activity.done_share = share
    if said.kind == Kind.DONE:
        ended = min(_ends(said, activity, row), now)
        activity.finished_at = max(ended, activity.started_at + LEAST)
    activity.save()


def _planned(activity: models.Activity) -> models.PlanRow | None:
    published = models.Plan.State.PUBLISHED
    rows = models.PlanRow.objects.filter(activity=activity, plan__state=published)
    return rows.select_related("crew").first()


def _segment(
    said: Said, activity: models.Activity, row: models.PlanRow | None
) -> tuple[datetime, datetime] | None:
    """From when to when the work was planned on the day."""
    zone = ZoneInfo(activity.job.zone)
    for start, finish, _ in row.segments if row else ():
        begins = datetime.fromisoformat(start).astimezone(zone)
        if begins.date() == said.day:
            return begins, datetime.fromisoformat(finish)
    return None


def _began(said: Said, activity: models.Activity, row: models.PlanRow | None) -> datetime:
    """When it was planned on that day; else with the first slot of the day."""
    planned = _segment(said, activity, row)
    return planned[0] if planned else _at(said.day, DAY_SLOTS[0].begin, activity)


def _ends(said: Said, activity: models.Activity, row: models.PlanRow | None) -> datetime:
    """When it was planned to end that day; else with the last slot of the day."""
    planned = _segment(said, activity, row)
    return planned[1] if planned else _at(said.day, DAY_SLOTS[-1].end, activity)


def _at(day: date, clock: time, activity: models.Activity) -> datetime:
    return datetime.combine(day, clock, tzinfo=ZoneInfo(activity.job.zone))


def _not_today(said: Said, line: models.DayLog, by: str, now: datetime) -> None:
    """What was not done for a cause is time lost to this work."""
    if said.cause:
        lost = Lost(
            first=said.day,
            last=said.day,
            job=said.activity.job,
            activity=said.activity,
            cause=said.cause,
            why=said.note[:200],
        )
        row = lose_days(lost, by=by, now=now)[0]
        line.stood = {"lost": row.pk}
        line.save(update_fields=["stood"])


def stood(activity: models.Activity) -> dict[str, Any]:
    """Return how far a work is, as it can be put back."""
    return {
        "started_at": activity.started_at.isoformat() if activity.started_at else None,
        "finished_at": activity.finished_at.isoformat() if activity.finished_at else None,
        "done_share": activity.done_share,
        "done_crew_id": activity.done_crew_id,
    }
