"""Drafts of calendar events for tests: what the ground crew does at Maple Lane, and what is stored of it."""

from __future__ import annotations

from dataclasses import replace

from crews.models import CalendarEvent
from crews.services.drafts import EventDraft, Run
from crews.services.events import publish_events
from tests.calendars import new_york

FRIDAY = new_york(6, 5, 18)
SATURDAY = new_york(6, 6, 18)
FIELDS = [field.name for field in CalendarEvent._meta.fields]


def days(first, after):
    """Whole days of June, ``after`` exclusive."""
    return Run(new_york(6, first), new_york(6, after), all_day=True)


def hours(day, first, last):
    """Part of a day of June."""
    return Run(new_york(6, day, first), new_york(6, day, last), all_day=False)


def draft(*runs, **other):
    """What the ground crew does at Maple Lane."""
    usual = EventDraft(
        subject="crew:ground",
        activity="grade",
        job="maple",
        kind="work",
        runs=runs,
        zone="America/New_York",
        title="Maple Lane: Grade the yard",
        place="12 Maple Lane",
        notes="Back yard: 2,400 ft2",
    )
    return replace(usual, **other)


def publish(*drafts, now=FRIDAY):
    """Publish the whole of Maple Lane."""
    return publish_events(drafts, "maple", now)


def stored():
    """Everything of every row, by UID."""
    return {row["uid"]: row for row in CalendarEvent.objects.values(*FIELDS)}


def rows():
    """Rows in order of time."""
    return list(CalendarEvent.objects.order_by("start", "subject"))
