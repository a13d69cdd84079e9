"""What the feed measurement runs in processes of their own: a server, its rows, a solve beside it."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import django
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.http import HttpResponse
from django.urls import include, path

from jobs.scheduling.search.dispatch import build_plan

from .invented import invented_portfolio

if TYPE_CHECKING:
    from django.http import HttpRequest

    from crews.models import CalendarEvent

BARE = "bare/"
NOTES = (
    "Upper patio: 540 ft²",
    "Stone crew, 4 people",
    "Machine: Mortar mixer; Stand-on loader, narrow",
    "Way in: Side yard 46 in at the meter; machines of 48 in come by the back lane",
    "Take care:",
    "- Wet concrete and mortar burn skin, eyes and knees: gloves, boots, goggles, wash at once.",
    "- Cut and break stone wet. What weighs more than 50 lb is lifted by two people.",
)


def bare(request: HttpRequest) -> HttpResponse:  # noqa: ARG001 (Django passes it)
    """Answer with two letters: no query, no template, every middleware."""
    return HttpResponse("ok")


def serve_measured() -> object:
    """Return the WSGI application with the bare view in front of the usual addresses."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobs.settings")
    django.setup()
    settings.ROOT_URLCONF = (path(BARE, bare), path("", include("jobs.urls")))
    return get_wsgi_application()


def fill(events: int, subscribers: int) -> None:
    """Fill a fresh database with one crew's events and its subscribers; print their tokens."""
    django.setup()
    from crews.models import CalendarEvent, Crew, WorkingWeek  # noqa: PLC0415 (models after setup)
    from crews.services.links import make_link  # noqa: PLC0415

    now = datetime(2026, 6, 1, 12, tzinfo=UTC)
    week = WorkingWeek.objects.create(name="Monday to Friday")
    Crew.objects.create(name="Stone crew", slug="stone-crew", week=week)
    rows = [_event(number, now) for number in range(events)]
    CalendarEvent.objects.bulk_create(rows, batch_size=100)
    for _ in range(subscribers):
        print(make_link("crew:stone-crew", person="Somebody", now=now)[1])  # noqa: T201 (to its parent)


def _event(number: int, now: datetime) -> CalendarEvent:
    from crews.models import CalendarEvent  # noqa: PLC0415 (models after setup)

    start = now + timedelta(days=number // 2, hours=4 * (number % 2))
    return CalendarEvent(
        subject="crew:stone-crew",
        activity=f"work-{number}",
        job="12-alder-bend",
        start=start,
        end=start + timedelta(hours=4),
        all_day=False,
        zone="America/New_York",
        title=f"12 Alder Bend: Set stone, part {number + 1}",
        place="12 Alder Bend, Asheville, NC",
        notes="\n".join(NOTES),
        created=now,
        modified=now,
    )


def solve_on(seed: int) -> None:
    """Plan an invented portfolio again and again, until ended from outside."""
    world = invented_portfolio(40, seed)
    while True:
        build_plan(world, seed=seed)
