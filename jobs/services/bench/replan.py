"""Measure replanning: an invented company is rained out for two days, and the ways out are timed and compared.

The baseline is pushing everything right, timed in the same run. Yards are promised what was planned with up to
three days' room, so that a storm costs something.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf
from time import perf_counter
from typing import TYPE_CHECKING, Any

from jobs.scheduling.calendars import days_mask, worked_slots
from jobs.scheduling.dice import Dice
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.storm.lost import Loss, lose
from jobs.scheduling.storm.replan import first_answer
from jobs.scheduling.storm.ways_out import Storm, Way, WayOut
from jobs.scheduling.world import Done
from jobs.services.storm.offer import MOST_SECONDS
from jobs.services.storm.side_by_side import look_side_by_side
from jobs.services.telling.speech import say_least

from .invented import invented_portfolio

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import Work, World

SIZES: Mapping[int, int] = {5: 1, 10: 3, 20: 3}
"""Yards, and how many seeds are measured."""
STORM_DAY, DAYS_LOST = 14, 2
ROOM_DAYS = 3
LEAST_YARDS = 10
MOST_CHANGED = 0.6
"""Crew-days that steady may change against pushing right, from so many yards on."""
FIRST_SECONDS = 1.0
"""Within which the first answer has to be there."""


def bench_replan(
    *, seed: int = 0, sizes: Mapping[int, int] | None = None, seconds: float = MOST_SECONDS
) -> dict[str, Any]:
    """Time the first answer and the searches after a two-day rain for all.

    Returns
    -------
    dict
        ``{bench, seconds, runs: [{jobs, activities, seed, first_s, push_right, old_order, steady,
        on_promise, changed_share, reached}]}``; each way with its seconds, crew-days changed, weighted
        days late and sum of finishes, steady with the crew-days that no plan can help changing (``least``). ``changed_share`` is steady's crew-days against push right's;
        ``reached`` says of each aim whether it is kept, none below ``LEAST_YARDS``.
    """
    asked = SIZES if sizes is None else sizes
    runs = [_run(jobs, seed + n, seconds) for jobs, seeds in asked.items() for n in range(seeds)]
    return {"bench": "replan", "seconds": seconds, "runs": runs}


def _run(jobs: int, seed: int, seconds: float) -> dict[str, Any]:
    storm = invented_storm(jobs, seed)
    begun = perf_counter()
    at_once = first_answer(storm)
    first = perf_counter() - begun
    told: dict[str, Any] = {"jobs": jobs, "activities": len(storm.world.works), "seed": seed}
    told |= {"first_s": round(first, 3)}
    told |= {_key(one.way): _told(one, first) for one in at_once if isinstance(one, WayOut)}
    begun = perf_counter()
    better = look_side_by_side(storm, (Way.STEADY, Way.ON_PROMISE), seconds=seconds, seed=seed)
    took = perf_counter() - begun
    told |= {_key(one.way): _told(one, took) for one in better if isinstance(one, WayOut)}
    pushed = told["push_right"]["crew_days"] if "push_right" in told else 0
    steady = told["steady"]["crew_days"] if "steady" in told else None
    told["changed_share"] = round(steady / pushed, 3) if pushed and steady is not None else None
    told["reached"] = _reached(told) if jobs >= LEAST_YARDS else None
    return told


def _reached(told: dict[str, Any]) -> dict[str, bool]:
    """Say what is reached of what steady and on promise are there for."""
    late = {way: told[way]["late"] for way in ("push_right", "steady", "on_promise") if way in told}
    pushed, steady = late.get("push_right", inf), late.get("steady", inf)
    share = told["changed_share"]
    return {
        "changed_share": share is not None and share <= MOST_CHANGED,
        "steady_less_late_than_pushed": steady < pushed,
        "on_promise_less_late_than_steady": late.get("on_promise", inf) < steady,
        "first_answer": told["first_s"] <= FIRST_SECONDS,
    }


def _key(way: Way) -> str:
    return way.value.replace("-", "_")


def _told(one: WayOut, seconds: float) -> dict[str, Any]:
    score = one.result.score
    return {
        "seconds": round(seconds, 2),
        "crew_days": len(one.lines.crew_days),
        "late": score.late,
        "finish": score.finish,
    } | ({} if one.least_changed is None else {"least": one.least_changed})


def invented_storm(jobs: int, seed: int, *, day: int = STORM_DAY) -> Storm:
    """Return an invented company in the middle of its yards that is rained out for some days."""
    planned = invented_portfolio(jobs, seed)
    old = build_plan(planned, seed=seed, rules=("late start",)).plan.placements
    promised = _promised(planned, old, Dice(seed, "promises"))
    now = day * planned.axis.per_day
    works = {name: _begun(promised, work, old[name], now) for name, work in planned.works.items()}
    before = replace(promised, works=works, now=now)
    axis = before.axis
    first = axis.day(now)
    mask = days_mask(axis, first, axis.day(now + (DAYS_LOST - 1) * axis.per_day))
    wet = frozenset(name for name, work in works.items() if work.crews)
    return Storm(lose(before, [Loss(mask, wet)]), before, old, day + DAYS_LOST - 1)


def _promised(world: World, old: Mapping[str, Placement], dice: Dice) -> World:
    axis = world.axis
    ends: dict[str, int] = {}
    for name, work in world.works.items():
        ends[work.job] = max(old[name].end, ends.get(work.job, 0))
    jobs = {
        name: replace(job, promise=ends[name] + dice.whole(0, ROOM_DAYS) * axis.per_day)
        for name, job in world.jobs.items()
    }
    return replace(world, jobs=jobs)


def _begun(world: World, work: Work, at: Placement, now: int) -> Work:
    """Take what was planned before now as done, what was under way as half a fact."""
    if at.end < now:
        return replace(work, done=Done(at.start, at.end, at.crew))
    if at.start >= now:
        return work
    left = max(1, sum(slot >= now for slot in worked_slots(world, work, at)))
    crews = {at.crew: left} if at.crew else {}
    return replace(work, done=Done(at.start, None, at.crew), crews=crews, slots=left)


def replan_text(figures: dict[str, Any]) -> str:
    """Return the figures as lines: what each way costs beside pushing right."""
    return "\n".join(_line(run) for run in figures["runs"])


def _line(run: dict[str, Any]) -> str:
    ways = [
        f"{name} {_changed(run[key])}, {run[key]['late']} days late"
        for name, key in (
            ("push right", "push_right"),
            ("old order", "old_order"),
            ("steady", "steady"),
            ("on promise", "on_promise"),
        )
        if key in run
    ]
    head = f"{run['jobs']:>3} yards, {run['activities']:,} activities, seed {run['seed']}"
    missed = [name.replace("_", " ") for name, kept in (run["reached"] or {}).items() if not kept]
    bar = f"; NOT REACHED: {', '.join(missed)}" if missed else ""
    share = "" if run["changed_share"] is None else f"; {run['changed_share']:.0%} of the changes"
    return f"{head}: first answer {run['first_s']:.2f} s; {'; '.join(ways)}{share}{bar}"


def _changed(way: dict[str, Any]) -> str:
    least = say_least(way["crew_days"], way.get("least"))
    return f"{way['crew_days']} crew-days changed" + (f" ({least})" if least else "")
