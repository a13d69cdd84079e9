"""Reads what a crew or a machine leaves behind from a day on: who takes its works, which nobody can do."""

from __future__ import annotations

from datetime import timedelta
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from django.db.models import Q

from crews.models import Crew, Machine
from crews.services.hours import working_hours
from crews.services.leaving import Ending, ending
from jobs import models
from jobs.services.numbers.library_words import machine_name
from jobs.services.scope.detail import machines_of
from jobs.services.telling.speech import say_span
from jobs.services.telling.words import say
from jobs.trade.work import Sentence

from .frame import local, published_plan

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from django.db.models import QuerySet

    from crews.services.hours import CrewHours, Hours

LOOK_AHEAD = timedelta(days=28)
"""How far from the day on somebody else must be there at all to count."""
WORKED = (
    models.DayLog.Kind.STARTED,
    models.DayLog.Kind.PART,
    models.DayLog.Kind.DONE,
    models.DayLog.Kind.PRESENT,
)


class Left(NamedTuple):
    """One work that is to be done without, and who else can do it; empty for nobody."""

    job: str
    slug: str
    uid: str
    work: str
    when: str
    others: str = ""


class Part(NamedTuple):
    """One thing that changes, with the works it is about; ``wrong`` if plans then rest on somebody, or something, still to be hired."""

    title: str
    words: str
    works: tuple[Left, ...] = ()
    wrong: bool = False


def read_leaving(gone: Crew | Machine, since: date, units: int) -> tuple[Part, ...]:
    """Return what changes if a crew, or some units of a machine, are gone from a day on."""
    hours = working_hours(since, since + LOOK_AHEAD)
    if isinstance(gone, Machine):
        parts = _machine(gone, since, units, hours)
        ends = ending(gone) if units >= gone.units_on(since) else Ending(0, 0)
    else:
        others = {slug: crew for slug, crew in hours.crews.items() if slug != gone.slug}
        parts, ends = _crew(gone, since, others), ending(gone)
    found = [part for part in parts if part.works] or [_part("nothing")]
    if any(ends):
        found.append(_part("ends", links=ends.links, phones=ends.phones))
    return tuple(found)


def last_worked(crew: Crew) -> date | None:
    """Return the last day on which a crew is known to have worked; None if it never did."""
    at_it = Q(crew=crew) | Q(activity__done_crew=crew) | Q(activity__lent=crew)
    lines = models.DayLog.objects.filter(at_it, kind__in=WORKED, corrected_by=None)
    days = list(lines.order_by("-day").values_list("day", flat=True)[:1])
    done = models.Activity.objects.filter(done_crew=crew, started_at__isnull=False)
    for work in done.select_related("job"):
        known = (work.started_at, work.finished_at)
        days += [local(moment, work.job).date() for moment in known if moment]
    return max(days, default=None)


def _crew(crew: Crew, since: date, others: Mapping[str, CrewHours]) -> list[Part]:
    rows = _planned()
    told = [
        _left(row.activity, row, others)
        for row in rows
        if crew in row.crews and _last(row) >= since
    ]
    works = _open_works().exclude(pk__in=[row.activity_id for row in rows])
    waiting = works.filter(skill__in=crew.skills.values("skill"), started_at=None)
    told += [left for work in waiting if not (left := _left(work, None, others)).others]
    by_hand = _open_works().filter(Q(only_crew=crew) | Q(lent=crew), started_at=None)
    return [
        _counted("nobody", [one for one in told if not one.others], wrong=True),
        _counted("others", [one for one in told if one.others]),
        _part("under-way", map(_left, _open_works().filter(done_crew=crew))),
        _part("by-hand", map(_left, by_hand)),
    ]


def _machine(machine: Machine, since: date, units: int, hours: Hours) -> list[Part]:
    alike = [max(it.units) for it in hours.machines.values() if it.kind == machine.kind]
    left, kind = sum(alike) - units, machine_name(machine.kind).lower()
    told = [
        (_need(row.activity, machine.kind) > left > 0, _left(row.activity, row))
        for row in _planned()
        if machine.slug in row.own_machines and _last(row) >= since
    ]
    return [
        _counted("short", [one for short, one in told if short], wrong=True),
        _counted(
            "others",
            [one for short, one in told if not short],
            why="shared" if left > 0 else "hired",
            kind=kind,
        ),
    ]


def _part(key: str, works: Iterable[Left] = (), **values: str | int) -> Part:
    return Part(_say(key), _say(f"{key}-why", **values), tuple(works))


def _counted(
    key: str, works: Sequence[Left], *, why: str = "", wrong: bool = False, **values: str | int
) -> Part:
    title = _say(f"{key}-one" if len(works) == 1 else key, count=len(works))
    return Part(title, _say(f"{why or key}-why", **values), tuple(works), wrong)


def _say(key: str, **values: str | int) -> str:
    return say(Sentence(f"leaving-{key}", values))


def _planned() -> list[models.PlanRow]:
    """Published rows of works that are not done, in order of time; one query after the plan's."""
    plan = published_plan()
    if plan is None:
        return []
    rows = plan.rows.filter(
        crew__isnull=False, activity__finished_at=None, activity__job__state__in=models.Job.OPEN
    )
    return list(rows.select_related("activity__job", "crew", "lent").order_by("start", "pk"))


def _open_works() -> QuerySet[models.Activity]:
    """Works of open yards that are not done."""
    works = models.Activity.objects.filter(
        job__state__in=models.Job.OPEN, retired=False, finished_at=None
    )
    return works.select_related("job").order_by("job_id", "order", "pk")


def _last(row: models.PlanRow) -> date:
    return local(row.finish, row.activity.job).date()


def _left(
    work: models.Activity,
    row: models.PlanRow | None = None,
    others: Mapping[str, CrewHours] = MappingProxyType({}),
) -> Left:
    """Name a work, when it is planned, and who of others is ever there with people enough for it."""
    when = say_span(local(row.start, work.job).date(), _last(row)) if row else ""
    able = [crew.name for crew in others.values() if _is_able(crew, work)]
    return Left(work.job.name, work.job.slug, work.uid, work.name, when, ", ".join(able))


def _is_able(crew: CrewHours, work: models.Activity) -> bool:
    able = crew.able.get(work.skill, [])
    return any(
        mask and people >= work.least for mask, people in zip(crew.masks, able, strict=False)
    )


def _need(work: models.Activity, kind: str) -> int:
    return sum(need.units for need in machines_of(work.detail) if need.machine == kind)
