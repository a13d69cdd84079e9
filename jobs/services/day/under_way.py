"""A sold job is under way once its first work is logged, and sold again if that was taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs import models
from jobs.services.history import record

if TYPE_CHECKING:
    from datetime import datetime

State = models.Job.State
STANDS, LOGGED = "where it stands", "its first work was logged"


def set_off(job: models.Job, *, by: str, now: datetime) -> None:
    """Let a sold job be active; any other stays where it stands."""
    if job.state == State.SOLD:
        _stand(job, State.ACTIVE, by, now)


def turn_back(job: models.Job, *, by: str, now: datetime) -> None:
    """Let a job be sold again that is active by its first line alone, if none of its works has begun."""
    if job.state != State.ACTIVE or job.activities.filter(started_at__isnull=False).exists():
        return
    last = models.HistoryEntry.objects.filter(job=job, what=STANDS).order_by("-pk").first()
    if last is not None and (last.after or {}).get("why") == LOGGED:
        _stand(job, State.SOLD, by, now)


def _stand(job: models.Job, state: str, by: str, now: datetime) -> None:
    """Write the state beside the row's revision: nobody edited it who would have to be told."""
    before, after = {"stage": str(job.state)}, {"stage": str(state)}
    if state == State.ACTIVE:
        after["why"] = LOGGED
    job.state = state
    models.Job.objects.filter(pk=job.pk).update(state=state)
    record(STANDS, by=by, at=now, job=job, before=before, after=after)
