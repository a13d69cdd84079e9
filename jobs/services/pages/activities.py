"""Reads a job's activities as a list in the order they are planned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.drawing.marks import MATERIALS
from jobs.services.by_hand.works import OUTSIDE
from jobs.services.telling.speech import say_room, say_span, spoken_days
from jobs.services.telling.yardstick import Yardstick, yardstick

from .by_hand import LinkRow, OwnWork, read_by_hand
from .frame import JobHead, job_head, local, outsider, shown_plan

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from jobs import models


class Neighbour(NamedTuple):
    """The work of ours before or after one in the list, which it may be done before or after instead."""

    uid: str
    name: str


class ActivityRow(NamedTuple):
    """One activity in the list."""

    uid: str
    name: str
    trade: str
    quantity: str
    days: str
    who: str
    when: str
    room: str
    critical: bool
    done: str
    earlier: Neighbour | None = None
    later: Neighbour | None = None


@dataclass(frozen=True, slots=True)
class ActivitiesPage:
    """The activities of a job."""

    head: JobHead
    rows: tuple[ActivityRow, ...]
    by_hand: tuple[OwnWork, ...]
    ties: tuple[LinkRow, ...]


def read_activities(job: models.Job) -> ActivitiesPage:
    """Read the list, in four queries however many rows."""
    plan = shown_plan()
    placed = {}
    if plan is not None:
        planned = plan.rows.filter(activity__job=job).select_related("crew", "lent")
        placed = {row.activity_id: row for row in planned}
    activities = sorted(
        job.activities.filter(retired=False).select_related("zone"),
        key=lambda a: (placed[a.pk].start.isoformat() if a.pk in placed else "~", a.order),
    )
    stick = yardstick()
    rows = [_row(activity, placed.get(activity.pk), job, stick) for activity in activities]
    return ActivitiesPage(
        job_head(job, "activities", plan), tuple(_with_neighbours(rows)), *read_by_hand(job)
    )


def _with_neighbours(rows: Sequence[ActivityRow]) -> Iterator[ActivityRow]:
    """Each work of ours that is not begun with the ones before and after it in the list."""
    movable = [row for row in rows if row.who != OUTSIDE and not row.done]
    place = {row.uid: n for n, row in enumerate(movable)}
    for row in rows:
        n = place.get(row.uid)
        if n is None:
            yield row
            continue
        before = movable[n - 1] if n else None
        after = movable[n + 1] if n + 1 < len(movable) else None
        yield row._replace(
            earlier=Neighbour(before.uid, before.name) if before else None,
            later=Neighbour(after.uid, after.name) if after else None,
        )


def _row(
    activity: models.Activity, row: models.PlanRow | None, job: models.Job, stick: Yardstick
) -> ActivityRow:
    crew = row.crew_names if row else ""
    return ActivityRow(
        uid=activity.uid,
        name=activity.name,
        trade=MATERIALS[activity.material],
        quantity=stick.quantity(activity.quantity, activity.unit),
        days=spoken_days(activity.days),
        who=crew
        or (OUTSIDE if activity.detail.get("outside") else outsider(activity) if row else ""),
        when=say_span(local(row.start, job).date(), local(row.finish, job).date()) if row else "",
        room=_room(row, job, activity) if row else "",
        critical=bool(row and row.critical),
        done="done"
        if activity.finished_at
        else f"{activity.done_share} %"
        if activity.started_at
        else "",
    )


def _room(row: models.PlanRow, job: models.Job, activity: models.Activity) -> str:
    if activity.finished_at:
        return ""
    if row.critical:
        return "no room to slip"
    told = say_room(row.float_hours, local(row.finish, job), local(row.late_finish, job))
    return told or "no room to slip"
