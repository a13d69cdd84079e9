"""Reads the company's settings: hours, days closed for all, and the record of what has no job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC
from typing import TYPE_CHECKING, NamedTuple

from crews.models import DayHours
from jobs import models
from jobs.services.company.company import say_season
from jobs.services.telling.speech import say_time

from .crews import company_off
from .published import plans_told
from .record_words import RecordTeller

if TYPE_CHECKING:
    from datetime import datetime

    from .crews import Off
    from .record_words import Told

ENTRIES = 40


class HoursRow(NamedTuple):
    """Hours that differ from most days."""

    pk: int
    whose: str
    when: str
    what: str


class Entry(NamedTuple):
    """A line of the record that belongs to no job."""

    at: datetime
    told: Told


@dataclass(frozen=True, slots=True)
class CompanyPage:
    """The page."""

    hours: tuple[HoursRow, ...]
    closed: tuple[Off, ...]
    record: tuple[Entry, ...]


def read_company_page(now: datetime) -> CompanyPage:
    """Read the settings in a bounded number of queries."""
    rows = DayHours.objects.select_related("crew").order_by("pk")
    usual = next((row.pk for row in rows if row.crew is None and row.first_month is None), 0)
    entries = list(models.HistoryEntry.objects.filter(job=None)[:ENTRIES])
    plans, teller = plans_told(entries, now.tzinfo or UTC), RecordTeller()
    return CompanyPage(
        tuple(_hours(row) for row in rows if row.pk != usual),
        company_off(now),
        tuple(
            Entry(entry.at.astimezone(now.tzinfo), teller.tell(entry, plans.get(entry.pk, ())))
            for entry in entries
        ),
    )


def _hours(row: DayHours) -> HoursRow:
    lunch = "" if row.crew else f", lunch {row.lunch} minutes"
    return HoursRow(
        row.pk, str(row.crew or "Everybody"), say_season(row), f"from {say_time(row.starts)}{lunch}"
    )
