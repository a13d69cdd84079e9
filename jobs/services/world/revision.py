"""Whether the world is still the one that was planned: a digest of the rows a plan depends on."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from django.db.models import Count, Max, Sum

import crews.models as people
from jobs import models

if TYPE_CHECKING:
    from django.db.models import Model

WATCHED: tuple[type[Model], ...] = (
    models.Job,
    models.Zone,
    models.Passage,
    models.Activity,
    models.ClimatePlace,
    models.Link,
    models.Release,
    models.NoWorkDay,
    models.Delivery,
    models.Decision,
    models.LostTime,
    people.Crew,
    people.CrewMember,
    people.CrewSkill,
    people.DayHours,
    people.Loan,
    people.Machine,
    people.WorkingWeek,
    people.TimeOff,
)
"""Tables whose every edit makes a plan stale."""


def world_revision() -> str:
    """Return a short digest that changes with any edit of what a plan depends on.

    One aggregate query a table: rows, newest row, newest change and, where people edit, the sum of
    revisions.
    """
    digest = hashlib.sha256()
    for model in WATCHED:
        sums = {"rows": Count("pk"), "newest": Max("pk"), "changed": Max("modified")}
        if any(field.name == "revision" for field in model._meta.get_fields()):
            sums["edits"] = Sum("revision")
        facts = model._default_manager.aggregate(**sums)
        digest.update(repr((model._meta.label, sorted(facts.items(), key=str))).encode())
    return digest.hexdigest()[:16]
