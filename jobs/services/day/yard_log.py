"""The day log of a yard: who came by, what was delivered, who was there, notes. Append-only, like that of a work.

Whoever says it, a page in the office or a phone on site, makes the client uid, so that a thing said twice counts once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from django.db import transaction

from jobs import models
from jobs.services.causes.late import come_later
from jobs.services.history import record
from jobs.services.telling.speech import say_date, say_people

from .log_day import LogRefusedError, Said, check_day, log_day

if TYPE_CHECKING:
    from datetime import date, datetime
    from uuid import UUID

    from crews.models import Crew

Kind, Result = models.DayLog.Kind, models.DayLog.Result


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What everything said of a yard's day has.

    Attributes
    ----------
    client
        Made where it was said; the same one twice counts once.
    at
        When it was said, by the clock of the device.
    """

    client: UUID
    job: models.Job
    day: date
    at: datetime
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit(Told):
    """Somebody came by; an inspector says of a work that it passed, did not, or is looked at again.

    Raises
    ------
    LogRefusedError
        If nobody came, or somebody comes again on no day.
    """

    who: str
    about: models.Activity | None = None
    result: str = ""
    again_on: date | None = None

    def __post_init__(self) -> None:
        if not self.who.strip():
            raise LogRefusedError("Say who came by.")
        if self.result == Result.AGAIN and self.again_on is None:
            raise LogRefusedError("Say on which day it is looked at again.")
        if self.again_on is not None and self.again_on <= self.day:
            raise LogRefusedError("It is looked at again on a later day.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Received(Told):
    """A delivery came, all of it or short; ``rest_on`` is the day from which the rest can come.

    Raises
    ------
    LogRefusedError
        If it came short and nobody said when the rest comes.
    """

    delivery: models.Delivery
    complete: bool = True
    rest_on: date | None = None

    def __post_init__(self) -> None:
        if not self.complete and self.rest_on is None:
            raise LogRefusedError("Say from which day on the rest can come.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Present(Told):
    """A crew was there with so many people."""

    crew: Crew
    people: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Note(Told):
    """Something worth keeping, of the yard as a whole.

    Raises
    ------
    LogRefusedError
        If nothing is said.
    """

    def __post_init__(self) -> None:
        if not self.note.strip():
            raise LogRefusedError("Write what is worth keeping.")


@transaction.atomic
def log_visit(visit: Visit, *, by: str, now: datetime) -> models.DayLog:
    """Write down who came by; a work that passed an inspection is done."""
    values = {
        "activity": visit.about,
        "who": visit.who.strip(),
        "result": visit.result,
        "again_on": visit.again_on,
    }
    line, new = write_line(visit, Kind.VISIT, values, (by, now))
    about = visit.about
    if new and visit.result == Result.PASSED and about is not None and about.finished_at is None:
        said = Said(uuid4(), about, visit.day, Kind.DONE, visit.at, note=f"passed, {visit.who}")
        log_day(said, by=by, now=now)
    return line


@transaction.atomic
def log_received(received: Received, *, by: str, now: datetime) -> models.DayLog:
    """Write down what came; the work waits for the rest where it came short."""
    delivery = received.delivery
    before = delivery.arrived_on.isoformat() if delivery.arrived_on else None
    values = {"delivery": delivery, "complete": received.complete, "stood": {"arrived_on": before}}
    line, new = write_line(received, Kind.RECEIVED, values, (by, now))
    if new and received.complete:
        delivery.arrived_on = received.day
        delivery.save(update_fields=["arrived_on"])
    elif new and received.rest_on not in {None, delivery.earliest}:
        why = received.note or "it came short"
        change = come_later(delivery, received.rest_on, why=why, by=by, now=now)
        line.stood = {"change": change.pk}
        line.save(update_fields=["stood"])
    return line


@transaction.atomic
def log_present(present: Present, *, by: str, now: datetime) -> models.DayLog:
    """Write down which crew was there, and with how many people."""
    values = {"crew": present.crew, "people": present.people}
    return write_line(present, Kind.PRESENT, values, (by, now))[0]


@transaction.atomic
def log_note(note: Note, *, by: str, now: datetime) -> models.DayLog:
    """Write down something worth keeping."""
    return write_line(note, Kind.NOTE, {}, (by, now))[0]


def write_line(
    told: Told, kind: str, values: dict[str, Any], account: tuple[str, datetime]
) -> tuple[models.DayLog, bool]:
    """Write one line of the log; return it, and False where it was written before.

    Raises
    ------
    LogRefusedError
        If the day is yet to come.
    """
    by, now = account
    check_day(told.job, told.day, now)
    line, new = models.DayLog.objects.get_or_create(
        client=told.client,
        defaults={
            "job": told.job,
            "day": told.day,
            "kind": kind,
            "note": told.note.strip(),
            "by": by,
            "device_at": told.at,
            "server_at": now,
        }
        | values,
    )
    if not new:
        return line, False
    record("day log", by=by, at=now, job=told.job, after={"said": say_line(line)})
    return line, True


def say_line(line: models.DayLog) -> str:
    """Return what a line says, in words, without its note."""
    kind = line.get_kind_display()
    if line.kind == Kind.VISIT:
        result = f": {line.get_result_display()}" if line.result else ""
        again = f" on {say_date(line.again_on)}" if line.again_on else ""
        return f"{line.who} {kind}{result}{again}"
    if line.kind == Kind.RECEIVED:
        return f"{line.delivery or 'a delivery'} came{'' if line.complete else ' short'}"
    if line.kind == Kind.PRESENT:
        return f"{line.crew or 'a crew'} {kind}, {say_people(line.people)}"
    if line.kind == Kind.PART and line.share is not None:
        return f"{kind}, {line.share} %"
    return kind
