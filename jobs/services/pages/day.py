"""Reads a yard's day: the works planned on it with what was said of them, and the log of two weeks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.db.models import Q

from jobs import models
from jobs.services.day.yard_log import say_line
from jobs.services.telling.speech import UNITS, say_day, say_people, say_time, spoken_quantity
from jobs.services.world.row_days import stretches
from jobs.trade.work import INSPECTION

from .frame import JobHead, job_head, outsider, shown_plan
from .sky import read_sky_of

if TYPE_CHECKING:
    from datetime import date, datetime

    from crews.models import Person

    from .sky import Sky

LOG_SHOWN = timedelta(days=14)
Kind = models.DayLog.Kind


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
    unit: str
    whole: str


class Picture(NamedTuple):
    """A photo, with the size of its small version in pixels."""

    uid: str
    width: int
    height: int
    words: str


class Entry(NamedTuple):
    """One line of the log; ``wrong`` where a later one took it back, ``may`` where that can be done."""

    pk: int
    day: str
    what: str
    said: str
    by: str
    note: str
    wrong: bool
    may: bool
    failed: str
    photo: Picture | None


@dataclass(frozen=True, slots=True)
class DayPage:
    """A day's works of one yard, what is overdue today, and the log of two weeks, newest first."""

    head: JobHead
    day: date
    before: date
    after: date | None
    sky: Sky | None
    works: tuple[Tap, ...]
    overdue: tuple[Tap, ...]
    log: tuple[Entry, ...]


def read_day(job: models.Job, who: Person, now: datetime, on: date | None = None) -> DayPage:
    """Read the page in a bounded number of queries; of today unless another day is asked for."""
    plan = shown_plan()
    today = now.astimezone(ZoneInfo(job.zone)).date()
    on = on or today
    rows = _rows(plan, job)
    works = [row for row in rows if _hours(row, on)]
    overdue = [
        row
        for row in rows
        if row not in works and row.activity.finished_at is None and row.finish <= now
    ]
    entries = job.day_log.filter(day__gt=on - LOG_SHOWN, day__lte=on)
    entries = entries.select_related("activity", "delivery", "crew", "photo", "corrected_by")
    may = may_log_yard(who, job)
    return DayPage(
        head=job_head(job, "day", plan),
        day=on,
        before=on - timedelta(days=1),
        after=on + timedelta(days=1) if on < today else None,
        sky=read_sky_of(job, on, now, works=[row.activity for row in works])
        if on >= today
        else None,
        works=tuple(_tap(row, who, _hours(row, on)) for row in works),
        overdue=tuple(_tap(row, who, f"planned {say_day(_first(row))}") for row in overdue)
        if on == today
        else (),
        log=tuple(_entry(row, may=may) for row in entries.order_by("-day", "-pk")),
    )


def may_log_yard(who: Person, job: models.Job) -> bool:
    """Return True for the office, and for who leads a crew that is planned in the yard."""
    if who.may_edit:
        return True
    published = models.Plan.State.PUBLISHED
    rows = models.PlanRow.objects.filter(activity__job=job, plan__state=published)
    return rows.filter(Q(crew__lead=who) | Q(lent__lead=who)).exists()


def may_log(who: Person, row: models.PlanRow) -> bool:
    """Return True for the office, and for who leads the crew of a work or one that helps with it."""
    return who.may_edit or who.pk in {crew.lead_id for crew in row.crews}


def _rows(plan: models.Plan | None, job: models.Job) -> list[models.PlanRow]:
    """All planned works, the office's and hired people's too; of an inspection its visit is said."""
    if plan is None:
        return []
    rows = plan.rows.filter(activity__job=job).exclude(activity__skill=INSPECTION)
    return list(rows.select_related("activity__job", "crew", "lent").order_by("start", "pk"))


def _first(row: models.PlanRow) -> date:
    return row.start.astimezone(ZoneInfo(row.activity.job.zone)).date()


def _hours(row: models.PlanRow, day: date) -> str:
    """From when to when a work is planned on a day; empty if it is not, or was over before."""
    here = (it for it in stretches(row) if it.day == day)
    return next((f"{say_time(it.begins)} to {say_time(it.ends)}" for it in here), "")


def _tap(row: models.PlanRow, who: Person, hours: str) -> Tap:
    activity = row.activity
    begun, over = activity.started_at is not None, activity.finished_at is not None
    share = activity.done_share
    state = "done" if over else f"started, {share} % done" if begun else "not started"
    likely = models.DayLog.Kind.DONE if begun else models.DayLog.Kind.STARTED
    return Tap(
        uid=activity.uid,
        name=activity.name,
        crew=row.crew_names or outsider(activity),
        hours=hours,
        state=state,
        share=share,
        likely=likely,
        may=may_log(who, row) and not over,
        client=str(uuid4()),
        unit=UNITS.get(activity.unit, activity.unit),
        whole=spoken_quantity(activity.quantity, activity.unit),
    )


def _entry(row: models.DayLog, *, may: bool) -> Entry:
    cause = row.get_cause_display() if row.cause else ""
    people = say_people(row.people) if row.people and row.kind != Kind.PRESENT else ""
    wrong = hasattr(row, "corrected_by")
    failed = row.result in {models.DayLog.Result.FAILED, models.DayLog.Result.AGAIN}
    return Entry(
        pk=row.pk,
        day=say_day(row.day),
        what=row.activity.name if row.activity else "the yard",
        said=say_line(row),
        by=row.by,
        note="; ".join(text for text in (people, cause, row.note) if text),
        wrong=wrong,
        may=may and not wrong and row.kind != Kind.TAKEN_BACK,
        failed=row.activity.uid if failed and row.activity else "",
        photo=_picture(row) if row.kind == Kind.PHOTO else None,
    )


def _picture(row: models.DayLog) -> Picture | None:
    photo = row.photo
    if photo.gone:
        return None
    words = row.note or (row.activity.name if row.activity else "the yard")
    return Picture(photo.uid, photo.small_width, photo.small_height, words)
