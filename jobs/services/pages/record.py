"""Reads the record of a job: who changed what, and when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from jobs import models

from .frame import JobHead, job_head, local, shown_plan
from .published import plans_told

if TYPE_CHECKING:
    from datetime import datetime

SHOWN = 200


class Entry(NamedTuple):
    """One line of the record."""

    at: datetime
    by: str
    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class RecordPage:
    """The record of a job, newest first."""

    head: JobHead
    entries: tuple[Entry, ...]


def read_record(job: models.Job) -> RecordPage:
    """Read the newest entries of a job, with those of the whole company's plans."""
    rows = models.HistoryEntry.objects.filter(job=job) | models.HistoryEntry.objects.filter(
        job=None
    )
    shown = list(rows[:SHOWN])
    plans = plans_told(shown, ZoneInfo(job.zone))
    return RecordPage(
        job_head(job, "record", shown_plan()),
        tuple(
            Entry(
                local(r.at, job),
                r.by,
                r.what,
                *plans.get(r.pk, (_told(r.before), _told(r.after))),
            )
            for r in shown
        ),
    )


def _told(value: object) -> str:
    if isinstance(value, dict):
        return "; ".join(f"{key} {told}" for key, told in value.items())
    return "" if value is None else str(value)
