"""Optional Saturdays: opened for the plan that uses them, kept with it, and told in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from crews.models import Crew
from jobs import models
from jobs.scheduling.asking.overtime import Grant, Saving, with_days
from jobs.services.telling.speech import say_day

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from decimal import Decimal

    from jobs.scheduling.world import World

    from .planning import Planning

Told = list[dict[str, Any]]


class OvertimeLine(NamedTuple):
    """A day that a plan asks of a crew, what it saves, and about how much it costs."""

    day: str
    crew: str
    saves: str
    price: Decimal | None


def opened(planning: Planning, told: Told) -> Planning:
    """Return a planning in which just the optional days of a plan are open."""
    grants = grants_of(told, planning.world)
    world, dry = (with_days(one, grants) for one in (planning.world, planning.dry))
    return replace(planning, world=world, dry=dry, overtime=tuple(told))


def grants_of(told: Iterable[Mapping[str, Any]], world: World) -> tuple[Grant, ...]:
    """Return stored days as the planner reads them."""
    first = world.axis.first
    return tuple(Grant(one["crew"], (date.fromisoformat(one["day"]) - first).days) for one in told)


def told_of(savings: Iterable[Saving], world: World) -> Told:
    """Return days with what they save as they are stored."""
    axis = world.axis
    return [
        {
            "crew": grant.crew,
            "day": axis.day(grant.day * axis.per_day).isoformat(),
            "saves": [list(pair) for pair in jobs],
        }
        for grant, jobs in savings
    ]


def used_in(told: Iterable[dict[str, Any]], rows: Iterable[models.PlanRow]) -> Told:
    """Return those of some optional days on which rows of their crew stand."""
    worked = {
        (crew.slug, start[:10]) for row in rows for crew in row.crews for start, *_ in row.segments
    }
    return [one for one in told if (one["crew"], one["day"]) in worked]


def overtime_lines(plan: models.Plan | None) -> tuple[OvertimeLine, ...]:
    """Return the optional days of a plan in words; two queries if there are any."""
    if plan is None or not plan.overtime:
        return ()
    crews = {crew.slug: crew for crew in Crew.objects.all()}
    names = dict(models.Job.objects.values_list("uid", "name"))
    return tuple(
        OvertimeLine(
            say_day(date.fromisoformat(one["day"])),
            crews[one["crew"]].name if one["crew"] in crews else one["crew"],
            _saves(one["saves"], names),
            crews[one["crew"]].saturday_price if one["crew"] in crews else None,
        )
        for one in plan.overtime
    )


def _saves(saves: Iterable[tuple[str, int]], names: Mapping[str, str]) -> str:
    told = [
        f"{days} day{'' if days == 1 else 's'} of the promise of {names.get(uid, 'a job')}"
        for uid, days in saves
    ]
    return f"saves {' and '.join(told)}" if told else "together with the other days"
