"""Ways out as JSON: the same six lines for each, and what moves from when to when."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from jobs.scheduling.storm.ways_out import NoWay, WayOut
from jobs.scheduling.upset import elsewhere
from jobs.services.world.lacking import unmanned

from .money import read_owed, read_prices
from .terms import say_term

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs import models
    from jobs.scheduling.result import Placement

    from .offer import Offered, Weather


def offered_as_json(weather: Weather, offered: Offered) -> dict[str, Any]:
    """Return one way out with its six lines and its moves; a reason where there is none."""
    found = offered.found
    if isinstance(found, NoWay):
        return {
            "way": found.way.value,
            "same_as": found.twin.value if found.twin else None,
            "reason": found.reason or None,
        }
    score = found.result.score
    return {
        "way": found.way.value,
        "same_as": None,
        "reason": None,
        "seconds": round(offered.row.seconds, 3),
        "objective": {"late": score.late, "finish": score.finish},
        **lines_as_json(weather, found),
        "crew_days_least": found.least_changed,
        "nobody": unmanned(weather.planning, found.result.plan),
        "moves": _moves(weather, found),
    }


def lines_as_json(weather: Weather, found: WayOut) -> dict[str, Any]:
    """Return the six lines."""
    planning, lines = weather.planning, found.lines
    jobs = planning.jobs
    return {
        "finishes": [
            {
                "job": jobs[uid].slug,
                "was": _day(weather, jobs[uid], finish.old),
                "becomes": _day(weather, jobs[uid], finish.new),
            }
            for uid, finish in lines.finishes.items()
            if finish.new is not None
        ],
        "promises_at_risk": [jobs[uid].slug for uid in lines.at_risk],
        "crew_days_changed": len(lines.crew_days),
        "crew_days": [[_who(weather, crew), day.isoformat()] for crew, day in lines.crew_days],
        "saturdays": [[_who(weather, crew), day.isoformat()] for crew, day in lines.saturdays],
        "rentals_extended": [
            {"machine": it.machine, "job": jobs[it.job].slug, "days": it.days}
            for it in lines.rentals
        ],
        "money": read_prices().more(weather, found),
    }


def terms_as_json(terms: Iterable[models.Term]) -> list[dict[str, Any]]:
    """Return what must hold in the ways out."""
    return [
        {
            "kind": term.kind,
            "job": term.job.slug if term.job else None,
            "activity": term.activity.uid if term.activity else None,
            "crew": term.crew.slug if term.crew else None,
            "day": term.day.isoformat() if term.day else None,
            "told": say_term(term),
        }
        for term in terms
    ]


def owed_as_json(weather: Weather) -> list[dict[str, Any]]:
    """Return the signed change orders that wait for a plan: owed whichever way is accepted."""
    return [
        {
            "job": order.job.slug,
            "number": order.number,
            "title": order.title,
            "amount": float(order.amount or 0),
        }
        for order in read_owed(weather.causes)
    ]


def _day(weather: Weather, job: models.Job, slot: int | None) -> str | None:
    if slot is None:
        return None
    return weather.planning.world.axes[job.zone].day(max(slot, 0)).isoformat()


def _who(weather: Weather, crew: str) -> str:
    """A crew by its slug; whoever is hired has none, and goes by the name people know."""
    world = weather.planning.world
    return world.crews[crew].name if world.is_hired(crew) else crew


def _moves(weather: Weather, found: WayOut) -> list[dict[str, Any]]:
    planning = weather.planning
    moved = elsewhere(planning.world, weather.storm.published, found.result.plan)
    return [
        {
            "activity": move.work,
            "name": planning.activities[move.work].name,
            "job": planning.jobs[planning.world.works[move.work].job].slug,
            "was": _place(weather, move.work, move.old),
            "becomes": _place(weather, move.work, move.new),
        }
        for move in moved
    ]


def _place(weather: Weather, work: str, at: Placement) -> dict[str, Any]:
    job = weather.planning.jobs[weather.planning.world.works[work].job]
    axis, zone = weather.planning.world.axes[job.zone], ZoneInfo(job.zone)
    return {
        "start": axis.begins(max(at.start, 0)).astimezone(zone).isoformat(),
        "finish": axis.ends(max(at.end, 0)).astimezone(zone).isoformat(),
        "crew": None if weather.planning.world.is_hired(at.crew) else at.crew or None,
    }
