"""Gate codes: kept apart, never in a feed, a message, a file or the record; shown to who stands before the gate."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Q

from jobs import models
from jobs.services.history import record

if TYPE_CHECKING:
    from datetime import datetime

    from crews.models import Crew

BEFORE = timedelta(hours=24)
"""How long before its work in a yard a crew may see how the gate opens, and how long after."""


@transaction.atomic
def keep_code(job: models.Job, code: str, *, by: str, now: datetime) -> None:
    """Keep a gate code, or none; the record says that it changed, not what it is."""
    models.GateCode.objects.filter(job=job).delete()
    if code:
        models.GateCode.objects.create(job=job, code=code, by=by, at=now)
    record("gate code", by=by, at=now, job=job, after="kept" if code else "taken away")


def code_for(crew: Crew, slug: str, now: datetime) -> models.GateCode | None:
    """Return the gate code of a yard the crew works in about now; None if there is none for it."""
    published = models.Plan.State.PUBLISHED
    near = models.PlanRow.objects.filter(
        Q(crew=crew) | Q(lent=crew),
        plan__state=published,
        start__lte=now + BEFORE,
        finish__gte=now - BEFORE,
    )
    yards = near.filter(activity__job__slug=slug).values("activity__job")
    return models.GateCode.objects.filter(job__in=yards).select_related("job").first()
