"""Plan rows to calendar events: who is where, with what, and what the homeowner sees."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from crews.models import CalendarEvent
from crews.services.drafts import EventDraft, Run
from crews.services.events import publish_events, reword_events
from crews.services.nothing import fill_feeds
from jobs import models
from jobs.services.numbers.library_words import work_name
from jobs.services.turns import take_turn
from jobs.services.world.milestones import milestone_of, milestones
from jobs.services.world.row_days import stretches

from .notes import crew_runs, look_around, machine_notes
from .visits import by_job_and_day, deliveries_due, delivery_drafts, inspection_drafts

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from crews.models import Crew
    from crews.services.events import Published
    from jobs.services.world.row_days import Stretch

    from .notes import Around


def publish_plan(plan: models.Plan, *, now: datetime) -> tuple[Published, ...]:
    """Write the calendar events of a plan, one job at a time; call inside the accepting transaction."""
    drafts: dict[str, list[EventDraft]] = {uid: [] for uid in _still_shown(now)}
    for draft in plan_drafts(plan):
        drafts.setdefault(draft.job, []).append(draft)
    published = tuple(
        publish_events(drafts=of_job, job=uid, now=now) for uid, of_job in drafts.items()
    )
    fill_feeds(now)
    return published


def retell(crew: Crew, *, now: datetime) -> int:
    """Say what a crew's calendar shows in the language it reads now, at once; return how many events that changes."""
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    subject = f"crew:{crew.slug}"
    drafts = [draft for draft in plan_drafts(plan) if draft.subject == subject] if plan else []
    return reword_events(drafts, now, "language") + fill_feeds(now)


def call_again(job: models.Job | None = None, *, now: datetime, **signal: object) -> None:  # noqa: ARG001 (sent when a job is expanded)
    """Let phones call what stands by the published plan as the office does now: all of it, or one job's; no date moves."""
    published = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED)
    if not (published.filter(jobs__job=job) if job else published).exists():
        return
    take_turn()
    reword_events(plan_drafts(published.get(), job), now)


def tell_again(job: models.Job, *, now: datetime) -> None:
    """Let phones show what stands of a job by the published plan now that something of it is over, or is not after all."""
    take_turn()
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if plan is not None and job.state in job.OPEN:
        publish_events(plan_drafts(plan, job), job.uid, now)
        fill_feeds(now)


def plan_drafts(plan: models.Plan, job: models.Job | None = None) -> list[EventDraft]:
    """Return everything that phones are to show of a plan, or of one job in it, in order of job and time."""
    some = plan.rows.filter(activity__job=job) if job else plan.rows.all()
    rows = list(
        some.select_related(
            "activity", "activity__job", "activity__zone", "crew", "crew__lead", "lent"
        ).order_by("activity__job_id", "start", "pk")
    )
    around, deliveries = look_around(plan, rows), deliveries_due(rows)
    due = by_job_and_day(deliveries)
    drafts = [draft for row in rows for draft in drafts_of(row, around, due[row.activity.job_id])]
    told = [_milestone(row) for row in milestones(rows) if row.activity.uid not in around.waits]
    return [*drafts, *told, *delivery_drafts(deliveries), *inspection_drafts(rows)]


def _still_shown(now: datetime) -> list[str]:
    """Jobs that phones show something of ahead: a job paused since must leave them."""
    ahead = CalendarEvent.objects.filter(end__gt=now).exclude(status=CalendarEvent.Status.CANCELLED)
    return list(ahead.exclude(job="").values_list("job", flat=True).distinct())


def drafts_of(
    row: models.PlanRow, around: Around, due: Mapping[date, Sequence[str]]
) -> list[EventDraft]:
    """Return the events of one plan row: for its crew and its machines.

    Parameters
    ----------
    due
        Names of what is delivered to its yard, by local day.
    """
    job, name = row.activity.job, row.activity.job.name
    runs = runs_of(stretches(row), ZoneInfo(job.zone))
    drafts = []
    if row.crew is not None:
        for crew in row.crews:
            told = crew_runs(row, runs, around, due, crew.language)
            title = f"{name}: {work_name(row.activity, crew.language)}"
            drafts.append(_draft(row, f"crew:{crew.slug}", told, (title, "")))
        words = f"{name}: {row.activity.name} ({row.crew_names})", machine_notes(row, around)
        drafts += [_draft(row, f"machine:{slug}", runs, words) for slug in row.own_machines]
    return drafts


def runs_of(days: Iterable[Stretch], zone: ZoneInfo) -> tuple[Run, ...]:
    """Join whole days that follow each other; a part day stands alone with its hours."""
    runs: list[Run] = []
    open_until: date | None = None
    for day, begins, ends, whole in days:
        if not whole:
            runs.append(Run(begins, ends, all_day=False))
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


def _draft(
    row: models.PlanRow, subject: str, runs: tuple[Run, ...], words: tuple[str, str]
) -> EventDraft:
    job = row.activity.job
    return EventDraft(
        subject=subject,
        activity=row.activity.uid,
        job=job.uid,
        kind="work",
        runs=runs,
        zone=job.zone,
        title=words[0],
        place=job.address,
        notes=words[1],
    )


def _milestone(row: models.PlanRow) -> EventDraft:
    job = row.activity.job
    zone = ZoneInfo(job.zone)
    day = (row.activity.finished_at or row.finish).astimezone(zone).date()
    run = Run(_midnight(day, zone), _midnight(day + timedelta(days=1), zone), all_day=True)
    return EventDraft(
        subject=f"homeowner:{job.uid}",
        activity=row.activity.uid,
        job=job.uid,
        kind="milestone",
        runs=(run,),
        zone=job.zone,
        title=milestone_of(row),
        place=job.address,
        notes="",
        happened=row.activity.finished_at is not None,
    )
