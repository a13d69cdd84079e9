"""Secret links of a job: the homeowner's page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from crews.services.links import make_link
from jobs.services.history import record

if TYPE_CHECKING:
    from datetime import datetime

    from jobs import models


def homeowner_link(job: models.Job, *, by: str, now: datetime) -> str:
    """Make a link to the homeowner's page of a job and return its token, seen only this once."""
    _, token = make_link(f"homeowner:{job.uid}", label=job.name, now=now)
    record("homeowner link made", by=by, at=now, job=job)
    return token
