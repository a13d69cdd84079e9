"""Published events: drafts of a job become rows, and a row changes only where a phone would see it.

One event per (activity, subject, run). After a replan runs match in order, so a moved run keeps its
UID; spare ones are cancelled and say so for two weeks; what has ended is never touched again.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from crews.ical.text import one_line, plain_text
from crews.models import CalendarEvent

from .drafts import TITLE_MOST, EventDraft, Key, Run
from .feed_words import ENGLISH, languages, said_day, said_when, word

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

CANCELLED = CalendarEvent.Status.CANCELLED
KEPT_AFTER_CANCELLING = timedelta(days=14)
WHEN = ("start", "end", "all_day")
WORDS = ("title", "place", "notes")


@dataclass(frozen=True, slots=True)
class Published:
    """How many events of a job changed on phones, and how.

    ``moved`` counts events with other dates or hours, ``reworded`` those with another text only.
    """

    job: str
    added: int = 0
    moved: int = 0
    reworded: int = 0
    cancelled: int = 0

    @property
    def changed(self) -> int:
        """Events that a phone will show differently."""
        return self.added + self.moved + self.reworded + self.cancelled


@transaction.atomic
def publish_events(drafts: Iterable[EventDraft], job: str, now: datetime) -> Published:
    """Make the events of a job what the drafts say; a job without drafts loses what is to come.

    Parameters
    ----------
    drafts
        Everything planned for the job, for every subject. Runs that ended before ``now`` are let be.
    job
        Uid of the job.
    now
        Aware instant of publishing.

    Raises
    ------
    ValueError
        If a draft belongs to another job.
    """
    writer = _Writer(job, now.replace(microsecond=0), languages())
    wanted = _by_key(drafts, job)
    stored: dict[Key, list[CalendarEvent]] = defaultdict(list)
    rows = CalendarEvent.objects.filter(job=job).exclude(kind=CalendarEvent.Kind.NOTHING)
    for row in rows.order_by("start", "run"):
        stored[row.subject, row.activity, row.kind].append(row)
    for key in sorted({*wanted, *stored}):
        writer.match(wanted.get(key), stored.get(key, []))
    return writer.write()


@transaction.atomic
def reword_events(drafts: Iterable[EventDraft], now: datetime, how: str = "") -> int:
    """Say what is published in the words of some drafts, at once; return how many events that changes.

    Dates and hours stay as published, and so does what is over or cancelled. An event whose words stay the same is not touched.

    Parameters
    ----------
    drafts
        What subjects should read; events that none of them speaks of count for nothing.
    now
        Aware instant from which the words hold.
    how
        Key of the line that tells whoever looks why they read otherwise; empty for none.
    """
    tongues, now = languages(), now.replace(microsecond=0)
    wanted = {(draft.key, run.end): _values(draft, run) for draft in drafts for run in draft.runs}
    ours = {key for key, _ in wanted}
    rows = CalendarEvent.objects.filter(end__gt=now, subject__in={key[0] for key in ours})
    touched = []
    for row in rows.filter(activity__in={key[1] for key in ours}).exclude(status=CANCELLED):
        values = wanted.get(((row.subject, row.activity, row.kind), row.end))
        if values is not None and change(row, now, **{name: values[name] for name in WORDS}):
            if how:
                language, place = tongues.get(row.subject, ENGLISH), ZoneInfo(row.zone)
                day = said_day(now.astimezone(place), row.start.astimezone(place), language)
                row.changed = word(language, how, day=day)
            touched.append(row)
    CalendarEvent.objects.bulk_update(
        touched, [*WORDS, "changed", "sequence", "modified"], batch_size=200
    )
    return len(touched)


def forget_cancelled(now: datetime) -> int:
    """Delete cancelled events that were shown long enough; return how many.

    Long enough is the later of their old end and two weeks after they were cancelled.
    """
    gone = CalendarEvent.objects.filter(
        status=CANCELLED, end__lt=now, modified__lt=now - KEPT_AFTER_CANCELLING
    ).exclude(kind=CalendarEvent.Kind.NOTHING)
    return gone.delete()[0]


def change(row: CalendarEvent, now: datetime, **visible: object) -> set[str]:
    """Set what a phone would see of a row; if anything differs, raise the sequence.

    LAST-MODIFIED always rises with the sequence, even when the clock stands still: some phone
    applications take an event anew only if it did.

    Returns
    -------
    set
        Names of the columns to write, none if nothing differs.
    """
    changed = {name for name, value in visible.items() if getattr(row, name) != value}
    if not changed:
        return changed
    for name in changed:
        setattr(row, name, visible[name])
    row.sequence += 1
    row.modified = max(now, row.modified + timedelta(seconds=1))
    return changed | {"sequence", "modified"}


def cancel(
    row: CalendarEvent, now: datetime, *, language: str = ENGLISH, **also: object
) -> set[str]:
    """Mark a row cancelled; return the columns to write, none if it was already.

    In words too: some phones show a cancelled event like any other.
    """
    if row.status == CANCELLED:
        return set()
    title = one_line(word(language, "cancelled-title", title=row.title), most=TITLE_MOST)
    return change(row, now, status=CANCELLED, title=title, **also)


def _by_key(drafts: Iterable[EventDraft], job: str) -> dict[Key, EventDraft]:
    """Drafts that say the same of the same subject are one, with the runs of all, in order."""
    wanted: dict[Key, EventDraft] = {}
    for draft in drafts:
        if draft.job != job:
            raise ValueError(f"draft of job {draft.job!r} among those of job {job!r}")
        runs = draft.runs + (wanted[draft.key].runs if draft.key in wanted else ())
        wanted[draft.key] = replace(draft, runs=tuple(sorted(set(runs))))
    return wanted


@dataclass(slots=True)
class _Writer:
    """Collects what to write, so that a job of any size takes a handful of queries."""

    job: str
    now: datetime
    tongues: Mapping[str, str]
    new: list[CalendarEvent] = field(default_factory=list)
    touched: list[CalendarEvent] = field(default_factory=list)
    columns: set[str] = field(default_factory=set)
    counts: dict[str, int] = field(default_factory=lambda: defaultdict(int))

    def match(self, draft: EventDraft | None, stored: list[CalendarEvent]) -> None:
        """Give the runs to come, in order, to the rows to come: live ones first, then cancelled."""
        ahead = [row for row in stored if row.end > self.now]
        told = [row.end for row in stored if row.end <= self.now and row.status != CANCELLED]
        runs = _runs_to_come(draft, self.now, max(told, default=None)) if draft else []
        ahead.sort(key=lambda row: (row.status == CANCELLED, row.start, row.run))
        if draft is not None and draft.happened and not runs:
            runs = list(draft.runs[: len(ahead)])
        for row in ahead[len(runs) :]:
            self._cancel(row)
        if draft is None:
            return
        for run, row in zip(runs, ahead, strict=False):
            self._revise(row, draft, run)
        free = max((row.run for row in stored), default=-1) + 1
        for number, run in enumerate(runs[len(ahead) :], start=free):
            self._add(draft, run, number)

    def _cancel(self, row: CalendarEvent) -> None:
        said = self._said(row, "cancelled", row.start)
        if changed := cancel(row, self.now, language=self._tongue(row), changed=said):
            self._touch(row, changed, "cancelled")

    def _revise(self, row: CalendarEvent, draft: EventDraft, run: Run) -> None:
        again = row.status == CANCELLED
        values = _values(draft, run)
        moved = any(getattr(row, name) != values[name] for name in WHEN)
        if again or moved:
            values["changed"] = self._said(row, "again" if again else "moved", run.start)
        changed = change(row, self.now, **values)
        if changed:
            self._touch(row, changed, "added" if again else "moved" if moved else "reworded")

    def _said(self, row: CalendarEvent, how: str, stands: datetime) -> str:
        """Return the line that tells whoever looks when it changed, and what it was before it stood where it does."""
        tongue, zone = self._tongue(row), ZoneInfo(row.zone)
        beside = stands.astimezone(zone)
        day = said_day(self.now.astimezone(zone), beside, tongue)
        before = said_when(
            row.start, row.end, all_day=row.all_day, zone=row.zone, beside=beside, language=tongue
        )
        return word(tongue, how, day=day, before=before)

    def _tongue(self, row: CalendarEvent) -> str:
        return self.tongues.get(row.subject, ENGLISH)

    def _touch(self, row: CalendarEvent, changed: set[str], how: str) -> None:
        self.touched.append(row)
        self.columns |= changed
        self.counts[how] += 1

    def _add(self, draft: EventDraft, run: Run, number: int) -> None:
        self.counts["added"] += 1
        self.new.append(
            CalendarEvent(
                subject=draft.subject,
                activity=draft.activity,
                job=self.job,
                run=number,
                kind=draft.kind,
                created=self.now,
                modified=self.now,
                **_values(draft, run),
            )
        )

    def write(self) -> Published:
        """Store everything and say how many of each."""
        if self.touched:
            columns = sorted(self.columns)
            CalendarEvent.objects.bulk_update(self.touched, columns, batch_size=200)
        CalendarEvent.objects.bulk_create(self.new, batch_size=200)
        return Published(job=self.job, **self.counts)


def _runs_to_come(draft: EventDraft, now: datetime, told: datetime | None) -> list[Run]:
    """Runs that end after now; days that an event of the past already shows are not shown twice."""
    runs = [run for run in draft.runs if run.end > now]
    return [_after(run, told, draft.zone) if told else run for run in runs]


def _after(run: Run, told: datetime, zone: str) -> Run:
    """Cut a run so that it begins when what was told ends; whole days are cut at midnight."""
    start = told
    if run.all_day:
        local = told.astimezone(ZoneInfo(zone))
        midnight = datetime.combine(local.date(), time(), tzinfo=local.tzinfo)
        start = midnight if midnight >= told else midnight + timedelta(days=1)
    return replace(run, start=start) if run.start < start < run.end else run


def _values(draft: EventDraft, run: Run) -> dict[str, object]:
    """What a phone sees of one run."""
    return {
        "start": run.start.astimezone(UTC),
        "end": run.end.astimezone(UTC),
        "all_day": run.all_day,
        "zone": draft.zone,
        "title": draft.title,
        "place": draft.place,
        "notes": plain_text(f"{draft.notes}\n{run.notes}"),
        "status": CalendarEvent.Status.CONFIRMED,
    }
