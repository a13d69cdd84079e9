"""A line of the day log taken back: a new line that says so, and what it changed stands as before."""

from __future__ import annotations

from datetime import date, datetime
from uuid import uuid4

from django.db import transaction

from jobs import models
from jobs.services.calendar.publish import tell_again
from jobs.services.causes.late import take_back_change
from jobs.services.causes.lose_days import take_back
from jobs.services.history import record
from jobs.services.turns import take_turn
from jobs.trade.work import Sentence

from .log_day import LogRefusedError
from .photos import forget
from .under_way import turn_back
from .yard_log import say_line

Kind = models.DayLog.Kind
MOVES = (Kind.STARTED, Kind.PART, Kind.DONE)
"""Kinds of lines that say how far a work is."""


@transaction.atomic
def take_back_line(line: models.DayLog, *, by: str, now: datetime) -> models.DayLog:
    """Take a line back; sent twice it is taken back once.

    Raises
    ------
    LogRefusedError
        If a later line rests on it, a plan was accepted because of it, or there is nothing to take back.
    """
    take_turn()
    line = (
        models.DayLog.objects.select_for_update().select_related("activity", "job").get(pk=line.pk)
    )
    done = models.DayLog.objects.filter(corrects=line).first()
    if done is not None:
        return done
    if line.kind == Kind.TAKEN_BACK:
        raise LogRefusedError(Sentence("log-took-back"))
    _put_back(line, by, now)
    taken = models.DayLog.objects.create(
        client=uuid4(),
        job=line.job,
        activity=line.activity,
        day=line.day,
        kind=Kind.TAKEN_BACK,
        corrects=line,
        note=say_line(line)[:400],
        by=by,
        device_at=now,
        server_at=now,
    )
    work = {"work": line.activity.name} if line.activity else {}
    record(
        "day log taken back", by=by, at=now, job=line.job, before=work | {"said": say_line(line)}
    )
    return taken


def _put_back(line: models.DayLog, by: str, now: datetime) -> None:
    stood = line.stood or {}
    if line.kind in MOVES and line.activity is not None:
        _put_work_back(line, line.activity, by, now)
    elif "lost" in stood:
        lost = models.LostTime.objects.filter(pk=stood["lost"], taken_back_at=None).first()
        if lost is not None:
            _refuse_planned(lost.plan_id)
            take_back(lost, by=by, now=now)
    elif "change" in stood:
        change = models.Change.objects.filter(pk=stood["change"]).first()
        if change is not None:
            _refuse_planned(change.plan_id)
            take_back_change(change, by=by, now=now)
    elif line.kind == Kind.RECEIVED and line.delivery is not None:
        came = stood.get("arrived_on")
        line.delivery.arrived_on = date.fromisoformat(came) if came else None
        line.delivery.save(update_fields=["arrived_on"])
    elif line.kind == Kind.PHOTO:
        forget(line.photo)


def _put_work_back(line: models.DayLog, work: models.Activity, by: str, now: datetime) -> None:
    later = work.day_log.filter(pk__gt=line.pk, kind__in=MOVES, corrected_by=None).first()
    if later is not None:
        raise LogRefusedError(Sentence("log-later-line", {"work": work.name}))
    if line.stood is None:
        raise LogRefusedError(Sentence("log-unknown-before"))
    for name, value in line.stood.items():
        setattr(work, name, _moment(value) if name.endswith("_at") else value)
    work.save(update_fields=[name.removesuffix("_id") for name in line.stood])
    turn_back(line.job, by=by, now=now)
    if line.kind == Kind.DONE:
        tell_again(line.job, now=now)


def _moment(told: str | None) -> datetime | None:
    return datetime.fromisoformat(told) if told else None


def _refuse_planned(plan: int | None) -> None:
    if plan is not None:
        raise LogRefusedError(Sentence("log-planned"))
