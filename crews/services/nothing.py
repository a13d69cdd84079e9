"""A feed is never empty: one standing event says that nothing is planned this week."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from crews.models import CalendarEvent, Crew, FeedLink

from .events import CANCELLED, cancel, change, forget_cancelled
from .feed_words import ENGLISH, languages, word
from .subjects import KINDS, NOTHING

if TYPE_CHECKING:
    from collections.abc import Collection

HOMEOWNER_TITLE = "No milestone this week"
"""Crews may well be in the yard: a homeowner's calendar has milestones only."""
DAYS_SHOWN = 5
WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Week:
    """Monday's midnight to the next, in the zone that ``now`` was told in."""

    start: datetime
    zone: str

    @property
    def end(self) -> datetime:
        """Midnight after Sunday."""
        return self.start + WEEK

    @property
    def shown_until(self) -> datetime:
        """Midnight after Friday."""
        return self.start + timedelta(days=DAYS_SHOWN)


def week_of(now: datetime) -> Week:
    """Return the week around an aware instant."""
    zone = now.tzinfo if isinstance(now.tzinfo, ZoneInfo) else ZoneInfo("UTC")
    local = now.astimezone(zone)
    monday = local.date() - timedelta(days=local.weekday())
    return Week(datetime.combine(monday, time(), tzinfo=zone), zone.key)


def nothing_event(subject: str, now: datetime, language: str = ENGLISH) -> CalendarEvent:
    """Return the standing event of a feed for this week, not stored. Its UID is always the same."""
    week = week_of(now)
    return CalendarEvent(
        uid=hashlib.sha256(f"nothing {subject}".encode()).hexdigest()[:32],
        subject=subject,
        kind=NOTHING,
        created=week.start.astimezone(UTC),
        modified=week.start.astimezone(UTC),
        **_this_week(subject, week, language),
    )


def stand_in(subject: str, now: datetime) -> None:
    """Store the standing event of a feed that has no row at all; two at once store it once.

    A phone that was shown an event must be told when it goes: so even the first reading is stored.
    """
    CalendarEvent.objects.bulk_create(
        [nothing_event(subject, now, languages().get(subject, ENGLISH))], ignore_conflicts=True
    )


@transaction.atomic
def fill_feeds(now: datetime) -> int:
    """Bring the standing event of every feed that somebody holds up to date.

    To be called when a plan is published and once a night. It also forgets events that were
    cancelled long enough ago. A handful of queries, however many feeds.

    Parameters
    ----------
    now
        Aware instant in the company's zone: its week is the week meant.

    Returns
    -------
    int
        How many standing events changed.
    """
    forget_cancelled(now)
    week, now = week_of(now), now.replace(microsecond=0)
    stored = {row.subject: row for row in CalendarEvent.objects.filter(kind=NOTHING)}
    busy, tongues = _busy(week), languages()
    new: list[CalendarEvent] = []
    touched: list[CalendarEvent] = []
    columns: set[str] = set()
    for subject in _held():
        row, language = stored.get(subject), tongues.get(subject, ENGLISH)
        if row is None:
            new += [] if subject in busy else [nothing_event(subject, now, language)]
            continue
        changed = (
            cancel(row, now, language=language)
            if subject in busy
            else change(row, now, **_this_week(subject, week, language))
        )
        if changed:
            touched.append(row)
            columns |= changed
    CalendarEvent.objects.bulk_create(new)
    if touched:
        CalendarEvent.objects.bulk_update(touched, sorted(columns))
    return len(new) + len(touched)


def _held() -> list[str]:
    """Subjects of calendars that somebody has a live link to."""
    held = FeedLink.objects.filter(revoked__isnull=True).order_by("subject")
    subjects = held.values_list("subject", flat=True).distinct()
    return [subject for subject in subjects if subject.partition(":")[0] in KINDS]


def _this_week(subject: str, week: Week, language: str) -> dict[str, object]:
    nothing = word(language, "nothing")
    return {
        "start": week.start.astimezone(UTC),
        "end": week.shown_until.astimezone(UTC),
        "all_day": True,
        "zone": week.zone,
        "title": HOMEOWNER_TITLE if subject.startswith("homeowner:") else nothing,
        "status": CalendarEvent.Status.CONFIRMED,
    }


def _busy(week: Week) -> Collection[str]:
    """Subjects with anything this week: a person is busy with any of the person's crews."""
    live = CalendarEvent.objects.filter(start__lt=week.end, end__gt=week.start)
    live = live.exclude(kind=NOTHING).exclude(status=CANCELLED)
    busy = set(live.order_by().values_list("subject", flat=True).distinct())
    if any(subject.startswith("crew:") for subject in busy):
        busy.add("all")
    for slug, *people in Crew.objects.values_list("slug", "lead", "members__person"):
        if f"crew:{slug}" in busy:
            busy |= {f"person:{person}" for person in people if person is not None}
    return busy
