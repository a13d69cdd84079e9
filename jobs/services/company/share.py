"""Secret links of a job: the homeowner's page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from crews.services.links import make_link_once
from jobs.services.history import record

if TYPE_CHECKING:
    from datetime import datetime

    from jobs import models


@transaction.atomic
def homeowner_link(job: models.Job, *, by: str, now: datetime, once: str = "") -> str:
    """Make a link to the homeowner's page of a job and return its token, seen only this once.

    Parameters
    ----------
    once
        Minted with the form that asks: sent twice, it is one link.
    """
    subject = f"homeowner:{job.uid}"
    _, token, new = make_link_once(subject, once=once, label=job.name, now=now)
    if new:
        record("homeowner link made", by=by, at=now, job=job)
    return token
