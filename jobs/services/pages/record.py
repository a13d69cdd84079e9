"""Reads the record of a job: who changed what, and when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from jobs import models

from .frame import JobHead, job_head, local, shown_plan
from .published import plans_told
from .record_words import RecordTeller

if TYPE_CHECKING:
    from datetime import datetime

    from .record_words import Told

SHOWN = 200


class Entry(NamedTuple):
    """One line of the record."""

    at: datetime
    told: Told


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
    plans, teller = plans_told(shown, ZoneInfo(job.zone)), RecordTeller()
    return RecordPage(
        job_head(job, "record", shown_plan()),
        tuple(Entry(local(r.at, job), teller.tell(r, plans.get(r.pk, ()))) for r in shown),
    )
