"""Plan rows to calendar events: who is where, with what, and what the homeowner sees."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from crews.models import CalendarEvent
from crews.services.events import EventDraft, Run, publish_events
from crews.services.nothing import fill_feeds

from .speech import caution_text, spoken_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from crews.services.events import Published
    from jobs import models


@dataclass(frozen=True, slots=True)
class Stretch:
    """Work on one local day: from and to, and whether it fills the crew's day."""

    start: datetime
    finish: datetime
    whole: bool


def publish_plan(plan: models.Plan, *, now: datetime) -> tuple[Published, ...]:
    """Write the calendar events of a plan, one job at a time; call inside the accepting transaction."""
    rows = list(
        plan.rows.select_related("activity", "activity__job", "activity__zone", "crew").order_by(
            "activity__job_id", "start", "pk"
        )
    )
    jobs: dict[str, list[models.PlanRow]] = {}
    for row in rows:
        jobs.setdefault(row.activity.job.uid, []).append(row)
    for uid in _still_shown(now):
        jobs.setdefault(uid, [])
    published = tuple(
        publish_events(drafts=[d for row in rows for d in drafts_of(row)], job=uid, now=now)
        for uid, rows in jobs.items()
    )
    fill_feeds(now)
    return published


def _still_shown(now: datetime) -> list[str]:
    """Jobs that phones show something of ahead: a job paused since must leave them."""
    ahead = CalendarEvent.objects.filter(end__gt=now).exclude(status=CalendarEvent.Status.CANCELLED)
    return list(ahead.exclude(job="").values_list("job", flat=True).distinct())


def drafts_of(row: models.PlanRow) -> list[EventDraft]:
    """Return the events of one plan row: for its crew, its machines and the homeowner."""
    job = row.activity.job
    runs = runs_of(stretches_of(row.segments, ZoneInfo(job.zone)), ZoneInfo(job.zone))
    drafts = []
    if row.crew is not None:
        drafts.append(
            _draft(row, f"crew:{row.crew.slug}", runs, f"{job.name}: {row.activity.name}")
        )
        drafts += [
            _draft(
                row,
                f"machine:{slug}",
                runs,
                f"{job.name}: {row.activity.name} ({row.crew.name})",
            )
            for _, _, slug in row.machines
        ]
    if words := row.activity.detail.get("milestone"):
        drafts.append(_milestone(row, str(words)))
    return drafts


def stretches_of(segments: Iterable[Sequence[Any]], zone: ZoneInfo) -> list[Stretch]:
    """Return stored segments as local stretches; the third figure says if the day is full."""
    return [
        Stretch(
            datetime.fromisoformat(start).astimezone(zone),
            datetime.fromisoformat(finish).astimezone(zone),
            bool(whole),
        )
        for start, finish, whole in segments
    ]


def runs_of(stretches: Sequence[Stretch], zone: ZoneInfo) -> tuple[Run, ...]:
    """Join whole days that follow each other; a part day stands alone with its hours."""
    runs: list[Run] = []
    open_until: date | None = None
    for stretch in stretches:
        day = stretch.start.date()
        if not stretch.whole:
            runs.append(Run(stretch.start, stretch.finish, all_day=False))
            open_until = None
            continue
        end = _midnight(day + timedelta(days=1), zone)
        if open_until == day:
            runs[-1] = Run(runs[-1].start, end, all_day=True)
        else:
            runs.append(Run(_midnight(day, zone), end, all_day=True))
        open_until = day + timedelta(days=1)
    return tuple(runs)


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), tzinfo=zone)


def _draft(row: models.PlanRow, subject: str, runs: tuple[Run, ...], title: str) -> EventDraft:
    job = row.activity.job
    return EventDraft(
        subject=subject,
        activity=row.activity.uid,
        job=job.uid,
        kind="work",
        runs=runs,
        zone=job.zone,
        title=title,
        place=job.address,
        notes=_notes(row),
    )


def _milestone(row: models.PlanRow, words: str) -> EventDraft:
    job = row.activity.job
    zone = ZoneInfo(job.zone)
    day = row.finish.astimezone(zone).date()
    run = Run(_midnight(day, zone), _midnight(day + timedelta(days=1), zone), all_day=True)
    return EventDraft(
        subject=f"homeowner:{job.uid}",
        activity=row.activity.uid,
        job=job.uid,
        kind="milestone",
        runs=(run,),
        zone=job.zone,
        title=words,
        place=job.address,
        notes="",
    )


def _notes(row: models.PlanRow) -> str:
    """What a crew reads under the title; gate codes never stand here."""
    activity = row.activity
    lines = [spoken_quantity(activity.quantity, activity.unit)]
    if activity.zone is not None:
        lines[0] = f"{activity.zone.name}: {lines[0]}" if lines[0] else activity.zone.name
    if row.crew is not None and row.people:
        lines.append(f"{row.crew.name}, {row.people} people.")
    if activity.job.access_notes:
        lines.append(activity.job.access_notes)
    lines += [caution_text(key) for key in activity.detail.get("cautions", [])]
    return "\n".join(line for line in lines if line)
