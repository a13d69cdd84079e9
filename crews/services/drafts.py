"""What a calendar should hold: drafts of events with their runs, checked and cleaned as calendars need them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from crews.ical.text import one_line, plain_text
from crews.models import CalendarEvent

if TYPE_CHECKING:
    from datetime import datetime

TITLE_MOST, PLACE_MOST = 200, 255
YEARS = range(1990, 2101)
"""Years that every phone can show and every zone has rules for; others are a slip of the pen."""
Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True, order=True)
class Run:
    """Consecutive open days, or one stretch with its hours. ``end`` is exclusive.

    ``notes`` are what is to be read of this run alone: who else is there that day, what is brought.

    Raises
    ------
    ValueError
        If an instant has no zone or lies outside ``YEARS``, or the end is not after the start.
    """

    start: datetime
    end: datetime
    all_day: bool
    notes: str = ""

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.end.tzinfo is None:
            raise ValueError(f"run from {self.start} to {self.end} lacks a time zone")
        if self.end <= self.start:
            raise ValueError(f"run ends at {self.end}, not after its start {self.start}")
        if self.start.year not in YEARS or self.end.year not in YEARS:
            raise ValueError(f"run from {self.start} to {self.end} is out of every calendar")


@dataclass(frozen=True, slots=True)
class EventDraft:
    """What one subject should see of one activity; texts are cleaned as calendars need them.

    What ``happened`` is shown on its day: an event still ahead moves back there instead of being cancelled.

    Raises
    ------
    ValueError
        If there is no subject, activity or title, or the kind or time zone is unknown.
    """

    subject: str
    activity: str
    job: str
    kind: str
    runs: tuple[Run, ...]
    zone: str
    title: str
    place: str = ""
    notes: str = ""
    happened: bool = False

    def __post_init__(self) -> None:
        put = object.__setattr__
        put(self, "title", one_line(self.title, most=TITLE_MOST))
        put(self, "place", one_line(self.place, most=PLACE_MOST))
        put(self, "notes", plain_text(self.notes))
        if not (self.subject and self.activity and self.title):
            raise ValueError(f"event of {self.activity!r} needs a subject, an activity and a title")
        if self.kind not in CalendarEvent.Kind.values:
            raise ValueError(f"event of {self.activity!r} has unknown kind {self.kind!r}")
        try:
            ZoneInfo(self.zone)
        except (ZoneInfoNotFoundError, ValueError) as unknown:
            raise ValueError(f"{self.zone!r} is no time zone") from unknown

    @property
    def key(self) -> Key:
        """What its rows are found by, besides the run."""
        return self.subject, self.activity, self.kind
