"""What it means for published work that people are away: what cannot be done, goes slower, lacks its lead."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import Q

from crews.services.hours import working_hours
from jobs import models
from jobs.services.telling.speech import say_people, say_span

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from crews.services.hours import Hours
    from crews.services.roll import Roll, Rolls

LEAD = "lead"
"""Whose yes a work waits for, in its detail."""


class Effect(NamedTuple):
    """What somebody's absence does to one published work of one or two crews, in words."""

    crews: tuple[str, ...]
    job: str
    slug: str
    uid: str
    words: str


def effects_of(
    rolls: Rolls, plan: models.Plan | None, crews: Iterable[str] = ()
) -> tuple[Effect, ...]:
    """Return what absences do to published work on the days of some rolls; no query if nobody is away.

    Parameters
    ----------
    crews
        Slugs of the crews to look at, also where they are lent to another's work; none given means all.
    """
    if plan is None or rolls.complete:
        return ()
    margin = timedelta(days=1)
    rows = plan.rows.filter(
        crew__isnull=False,
        activity__finished_at=None,
        activity__job__state__in=models.Job.OPEN,
        start__lt=_midnight(rolls.last + 2 * margin),
        finish__gt=_midnight(rolls.first - margin),
    )
    if crews:
        slugs = list(crews)
        rows = rows.filter(Q(crew__slug__in=slugs) | Q(lent__slug__in=slugs))
    found = rows.select_related("activity__job", "crew", "lent").order_by("start")
    hours = working_hours(rolls.first, rolls.last)
    return tuple(effect for row in found if (effect := effect_on(row, hours, rolls)) is not None)


def effect_on(row: models.PlanRow, hours: Hours, rolls: Rolls) -> Effect | None:
    """Return what absences do to one row on the days of the rolls; None if nothing.

    The people of all its crews count, whoever of them is away.
    """
    days = [day for day in worked_days(row) if rolls.first <= day <= rolls.last]
    activity, slugs = row.activity, tuple(crew.slug for crew in row.crews)
    if not days or not slugs or slugs[0] not in hours.crews:
        return None
    active = {one.slug: one for one in rolls.crews}
    on = {day: [rolls.on(active[slug], day) for slug in slugs if slug in active] for day in days}
    known = [hours.crews[slug].able.get(activity.skill) for slug in slugs if slug in hours.crews]
    there = {day: sum(able[(day - rolls.first).days] for able in known if able) for day in days}
    words = _too_few(row, there, on) or _slower(row, there, on) or _no_lead(row, on)
    if not words:
        return None
    job = activity.job
    return Effect(slugs, job.name, job.slug, activity.uid, words)


def worked_days(row: models.PlanRow) -> list[date]:
    """Return the local days a row is worked on, in order."""
    zone = ZoneInfo(row.activity.job.zone)
    days = {datetime.fromisoformat(start).astimezone(zone).date() for start, *_ in row.segments}
    return sorted(days)


def _short(there: Mapping[date, int], wanted: int, on: Mapping[date, Sequence[Roll]]) -> list[date]:
    """Days on which fewer are there than wanted, and somebody is away."""
    away = {day for day, rolls in on.items() if any(roll.missing for roll in rolls)}
    return [day for day, count in there.items() if count < wanted and day in away]


def _too_few(
    row: models.PlanRow, there: Mapping[date, int], on: Mapping[date, Sequence[Roll]]
) -> str:
    least = row.activity.least
    days = _short(there, least, on)
    if not days:
        return ""
    count = there[days[0]]
    need = f"it needs {say_people(least)} for {row.activity.skill}, {count or 'nobody'} is there"
    if count > 1:
        need = f"it needs {say_people(least)} for {row.activity.skill}, {count} are there"
    return f"{row.activity.name} cannot be done {say_span(days[0], days[-1])}: {need}"


def _slower(
    row: models.PlanRow, there: Mapping[date, int], on: Mapping[date, Sequence[Roll]]
) -> str:
    usual = row.people or 0
    days = _short(there, usual, on)
    if not days:
        return ""
    when = say_span(days[0], days[-1])
    return (
        f"{row.activity.name} goes slower {when}: {say_people(there[days[0]])} instead of {usual}"
    )


def _no_lead(row: models.PlanRow, on: Mapping[date, Sequence[Roll]]) -> str:
    """The yes is asked of who leads the crew whose work it is, not of one that helps it."""
    if row.activity.detail.get("sign") != LEAD:
        return ""
    own = {day: rolls[0] for day, rolls in on.items() if rolls}
    day = next((day for day, roll in own.items() if roll.lead_away), None)
    if day is None:
        return ""
    roll = own[day]
    leads = f"{roll.leads} leads" if roll.leads else "nobody leads"
    return (
        f"{row.activity.name} needs the lead's yes {say_span(day, day)}: {roll.lead} is away, "
        f"{leads}; settle who may give it"
    )


def _midnight(day: date) -> datetime:
    return datetime.combine(day, datetime.min.time(), tzinfo=ZoneInfo("UTC"))
