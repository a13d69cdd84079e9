"""Reads a yard's day: the works planned today with what was said of them, and the log of the last days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple
from uuid import uuid4
from zoneinfo import ZoneInfo

from jobs import models
from jobs.services.speech import say_day, say_time

from .frame import JobHead, job_head, shown_plan

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from crews.models import Person

LOG_SHOWN = timedelta(days=14)


class Tap(NamedTuple):
    """One work with its buttons; ``likely`` is the one most likely meant."""

    uid: str
    name: str
    crew: str
    hours: str
    state: str
    share: int
    likely: str
    may: bool
    client: str


class Entry(NamedTuple):
    """One line of the log."""

    day: str
    what: str
    said: str
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class DayPage:
    """Today's works of one yard, what is overdue, and the log, newest first."""

    head: JobHead
    day: date
    works: tuple[Tap, ...]
    overdue: tuple[Tap, ...]
    log: tuple[Entry, ...]


def read_day(job: models.Job, who: Person, now: datetime) -> DayPage:
    """Read the page in a bounded number of queries."""
    plan = shown_plan()
    today = now.astimezone(ZoneInfo(job.zone)).date()
    rows = _rows(plan, job)
    works = [row for row in rows if _hours(row, today)]
    overdue = [
        row
        for row in rows
        if row not in works and row.activity.finished_at is None and row.finish <= now
    ]
    entries = job.day_log.select_related("activity").filter(day__gte=today - LOG_SHOWN)
    return DayPage(
        head=job_head(job, "day", plan),
        day=today,
        works=tuple(_tap(row, who, _hours(row, today)) for row in works),
        overdue=tuple(_tap(row, who, f"planned {say_day(_first(row))}") for row in overdue),
        log=tuple(_entries(entries.order_by("-day", "-pk"))),
    )


def may_log(who: Person, row: models.PlanRow) -> bool:
    """Return True for the office, and for who leads the crew of a work."""
    return who.may_edit or (row.crew is not None and row.crew.lead_id == who.pk)


def _rows(plan: models.Plan | None, job: models.Job) -> list[models.PlanRow]:
    if plan is None:
        return []
    rows = plan.rows.filter(activity__job=job, crew__isnull=False)
    return list(rows.select_related("activity__job", "crew").order_by("start", "pk"))


def _first(row: models.PlanRow) -> date:
    return row.start.astimezone(ZoneInfo(row.activity.job.zone)).date()


def _hours(row: models.PlanRow, day: date) -> str:
    """From when to when a work is planned on a day; empty if it is not."""
    zone = ZoneInfo(row.activity.job.zone)
    for start, finish, _ in row.segments:
        begins = datetime.fromisoformat(start).astimezone(zone)
        if begins.date() == day:
            ends = datetime.fromisoformat(finish).astimezone(zone)
            return f"{say_time(begins)} to {say_time(ends)}"
    return ""


def _tap(row: models.PlanRow, who: Person, hours: str) -> Tap:
    activity = row.activity
    begun, over = activity.started_at is not None, activity.finished_at is not None
    share = activity.done_share
    state = "done" if over else f"started, {share} % done" if begun else "not started"
    likely = models.DayLog.Kind.DONE if begun else models.DayLog.Kind.STARTED
    return Tap(
        uid=activity.uid,
        name=activity.name,
        crew=row.crew.name if row.crew else "",
        hours=hours,
        state=state,
        share=share,
        likely=likely,
        may=may_log(who, row) and not over,
        client=str(uuid4()),
    )


def _entries(rows: Iterable[models.DayLog]) -> Iterator[Entry]:
    for row in rows:
        said = row.get_kind_display()
        if row.share is not None and row.kind == models.DayLog.Kind.PART:
            said = f"{said}, {row.share} %"
        cause = row.get_cause_display() if row.cause else ""
        note = "; ".join(text for text in (cause, row.note) if text)
        what = row.activity.name if row.activity else "the yard"
        yield Entry(say_day(row.day), what, said, row.by, note)
