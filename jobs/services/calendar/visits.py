"""Deliveries and inspections: nobody's work, but a crew must be there. Timed events in its calendar."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from crews.services.day_hours import HoursBook, read_book
from crews.services.drafts import EventDraft, Run
from crews.services.redact import without_codes
from jobs import models
from jobs.services.numbers.library_words import work_name
from jobs.services.world.row_days import stretches
from jobs.trade.work import INSPECTION

from .notes import told, way_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from crews.models import Crew

SHOWN_FOR = timedelta(hours=2)
"""A slot: trucks and inspectors come when they come."""
EVERYTHING = "all"


@dataclass(frozen=True, slots=True)
class Due:
    """A delivery with the row that needs it and the day it must be there."""

    delivery: models.Delivery
    row: models.PlanRow
    day: date


def deliveries_due(rows: Sequence[models.PlanRow]) -> list[Due]:
    """Return what has not arrived yet, due on the first day of the work that needs it; one query."""
    needing = {row.activity_id: row for row in rows if row.activity.started_at is None}
    waited_for = models.Delivery.objects.filter(arrived_on__isnull=True, activity__in=needing)
    due = []
    for delivery in waited_for.order_by("pk"):
        row = needing[delivery.activity_id or 0]
        day = row.start.astimezone(ZoneInfo(row.activity.job.zone)).date()
        due.append(Due(delivery, row, day))
    return due


def by_job_and_day(due: Iterable[Due]) -> dict[int, dict[date, list[str]]]:
    """Return names of what is due, by job and local day."""
    found: dict[int, dict[date, list[str]]] = defaultdict(lambda: defaultdict(list))
    for one in due:
        found[one.row.activity.job_id][one.day].append(_name(one))
    return found


def delivery_drafts(due: Sequence[Due]) -> Iterator[EventDraft]:
    """Yield an event for each delivery: two hours from the hour the crew that needs it starts."""
    book = read_book() if due else HoursBook()
    for one in due:
        job = one.row.activity.job
        zone = ZoneInfo(job.zone)
        start = one.row.start.astimezone(zone)
        if one.row.crew is not None:
            begins = book.starts(one.row.crew.slug, one.day)
            start = datetime.combine(one.day, begins, tzinfo=zone)
        tongue = one.row.crew.language if one.row.crew is not None else "en"
        work = work_name(one.row.activity, tongue)
        notes = [told(tongue, "needed-for", work=work), *way_in(one.row, tongue)]
        yield EventDraft(
            subject=_subject(one.row.crew),
            activity=f"delivery-{one.delivery.pk}",
            job=job.uid,
            kind="delivery",
            runs=(Run(start, start + SHOWN_FOR, all_day=False),),
            zone=job.zone,
            title=told(tongue, "delivery-to", job=job.name, name=_name(one)),
            place=job.address,
            notes="\n".join(notes),
        )


def inspection_drafts(rows: Sequence[models.PlanRow]) -> Iterator[EventDraft]:
    """Yield an event for each inspection, for the crew whose work is looked at; one query."""
    visits = [
        row
        for row in rows
        if row.crew is None and row.activity.skill == INSPECTION and any(stretches(row))
    ]
    hosts = _hosts(visits, {row.activity_id: row for row in rows}) if visits else {}
    for row in visits:
        job, crew = row.activity.job, hosts.get(row.activity_id)
        tongue = crew.language if crew is not None else "en"
        yield EventDraft(
            subject=_subject(crew),
            activity=row.activity.uid,
            job=job.uid,
            kind="inspection",
            runs=(Run(row.start, row.finish, all_day=False),),
            zone=job.zone,
            title=f"{job.name}: {work_name(row.activity, tongue)}",
            place=job.address,
            notes="\n".join([*_stands_by(crew), *way_in(row, tongue)]),
        )


def _hosts(
    visits: Sequence[models.PlanRow], rows: Mapping[int, models.PlanRow]
) -> dict[int, Crew | None]:
    """The crew whose work comes last before each visit, else the one that goes on after it."""
    ids = [row.activity_id for row in visits]
    before: dict[int, list[models.PlanRow]] = defaultdict(list)
    after: dict[int, list[models.PlanRow]] = defaultdict(list)
    links = models.Link.objects.filter(before__in=ids) | models.Link.objects.filter(after__in=ids)
    for first, second in links.values_list("before_id", "after_id"):
        if (row := rows.get(first)) is not None and row.crew is not None:
            before[second].append(row)
        if (row := rows.get(second)) is not None and row.crew is not None:
            after[first].append(row)
    return {
        pk: max(before[pk], key=lambda row: (row.finish, row.pk)).crew
        if before[pk]
        else min(after[pk], key=lambda row: (row.start, row.pk)).crew
        for pk in ids
        if before[pk] or after[pk]
    }


def _stands_by(crew: Crew | None) -> list[str]:
    return [told(crew.language, "stands-by", crew=crew.name)] if crew else []


def _subject(crew: Crew | None) -> str:
    """A crew's calendar; what no crew is needed for stands in the one with everything."""
    return f"crew:{crew.slug}" if crew is not None else EVERYTHING


def _name(one: Due) -> str:
    return without_codes(one.delivery.name).partition("\n")[0]
