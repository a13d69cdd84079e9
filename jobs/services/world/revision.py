"""Whether the world is still the one that was planned: a digest of the rows a plan depends on."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any

from django.db.models import BigIntegerField, CharField, Count, DateTimeField, Max, Sum, Value

import crews.models as people
from jobs import models

if TYPE_CHECKING:
    from django.db.models import Model, QuerySet

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

    Of each table the rows, newest row, newest change and, where people edit, the sum of revisions; all of them
    in one query.
    """
    first, *others = (*map(_facts, WATCHED), _finding())
    told = {row.pop("table"): row for row in first.union(*others, all=True)}
    digest = hashlib.sha256()
    watched: tuple[type[Model], ...] = (*WATCHED, models.Company)
    for model in watched:
        digest.update(repr((model._meta.label, sorted(told[model._meta.label].items()))).encode())
    return digest.hexdigest()[:16]


def _facts(model: type[Model]) -> QuerySet[Any, dict[str, Any]]:
    """One row about all rows of a table."""
    edited = any(field.name == "revision" for field in model._meta.get_fields())
    rows: QuerySet[Any, dict[str, Any]] = (
        model._default_manager.order_by()
        .values(table=Value(model._meta.label, output_field=CharField()))
        .annotate(
            rows=Count("pk"),
            newest=Max("pk"),
            changed=Max("modified"),
            edits=Sum("revision") if edited else Value(None, output_field=BigIntegerField()),
        )
    )
    return rows


def _finding() -> QuerySet[Any, dict[str, Any]]:
    """One row about the one setting of the company that plans depend on."""
    company: type[Model] = models.Company
    table = Value(company._meta.label, output_field=CharField())
    rows: QuerySet[Any, dict[str, Any]] = (
        company._default_manager.order_by()
        .values(table=table)
        .annotate(
            rows=Count("pk"),
            newest=Max("finding_days"),
            changed=Value(None, output_field=DateTimeField()),
            edits=Value(None, output_field=BigIntegerField()),
        )
    )
    return rows
