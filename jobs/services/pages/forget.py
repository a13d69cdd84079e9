"""Reads what goes and what stays if a job is deleted, or its owner forgotten."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from crews.models import CalendarEvent, FeedLink
from jobs.services.company.forget import DELETE, way_of
from jobs.services.telling.words import say
from jobs.trade.work import Sentence

from .frame import job_head, shown_plan

if TYPE_CHECKING:
    from jobs import models

    from .frame import JobHead


@dataclass(frozen=True, slots=True)
class ForgetPage:
    """One job: the way there is, what goes, what stays; no way, and ``why_not``, while it is open."""

    head: JobHead
    way: str
    title: str
    why_not: str
    goes: tuple[str, ...]
    stays: tuple[str, ...]


def read_forget(job: models.Job) -> ForgetPage:
    """Return what goes and what stays; a bounded number of queries."""
    way = way_of(job)
    counts = {
        "works": job.activities.filter(retired=False).count(),
        "lines": job.day_log.count(),
        "orders": job.change_orders.count(),
        "links": FeedLink.objects.filter(subject=f"homeowner:{job.uid}", revoked=None).count(),
        "events": CalendarEvent.objects.filter(job=job.uid).count(),
    }
    deletes = ("goes-all", "goes-shared")
    forgets = ("goes-owner", "goes-typed", "goes-shared")
    keeps = ("stays-line", "stays-copies") if way == DELETE else ("stays-figures", "stays-copies")
    return ForgetPage(
        head=job_head(job, "forget", shown_plan()),
        way=way,
        title=_say(f"title-{way or 'none'}"),
        why_not="" if way else _say("begun" if job.state == job.State.BID else "open"),
        goes=tuple(_say(key, **counts) for key in (deletes if way == DELETE else forgets)),
        stays=tuple(_say(key, **counts) for key in keeps),
    )


def _say(key: str, **values: int) -> str:
    return say(Sentence(f"forget-{key}", values))
