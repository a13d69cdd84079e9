"""Feeds as a phone asks for them: a link with its address, and what an answer holds."""

from __future__ import annotations

from datetime import UTC, datetime

from crews.services.links import make_link
from crews.services.today import wall_now
from tests.calendars import read_strictly

CHANGED = datetime(2026, 6, 5, 22, 30, tzinfo=UTC)
"""When the one event of the feed of the ground crew was changed last."""


def link_to(subject, **other):
    """A link and the address of its feed."""
    link, token = make_link(subject, now=wall_now(), **other)
    return link, f"/feed/{token}.ics"


def titles(answer):
    """Titles of the events of an answer."""
    calendar = read_strictly(answer.content)
    return [part.one("SUMMARY").text for part in calendar.inside("VEVENT")]


def name(answer):
    """Name of the calendar of an answer."""
    return read_strictly(answer.content).one("NAME").text
