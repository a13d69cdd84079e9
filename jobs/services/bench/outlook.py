"""Measure the outlook: so many futures of an invented job, and the same walked one by one in Python."""

from __future__ import annotations

from time import perf_counter
from typing import TYPE_CHECKING, Any

from jobs.scheduling.dice import Dice
from jobs.scheduling.risk.futures import run_futures
from jobs.scheduling.risk.hazards import Hazards
from jobs.scheduling.risk.place import Place
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.sky.limits import limits_of
from jobs.services.numbers.library import current_library
from jobs.services.sky.climate import climates, near_of, rain_at, warmth_at
from jobs.weather.climate import by_name

from .invented import invented_portfolio

if TYPE_CHECKING:
    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import World

RUNS = 2000
CLASSES = ("W1", "W2", "W4", "W5", "W6", "W9")
PLACE = "Asheville"
YARDS = (1, 2, 4)


def bench_outlook(*, seed: int = 0, runs: int = RUNS) -> dict[str, Any]:
    """Time the futures of invented plans of growing size.

    The reference walks a hundredth of the futures one by one with the same code, reckoned up to all.

    Returns
    -------
    dict
        ``{bench, runs, sizes: [{activities, seconds, one_by_one_seconds, times_faster}]}``.
    """
    return {
        "bench": "outlook",
        "runs": runs,
        "sizes": [_time(yards, seed, runs) for yards in YARDS],
    }


def _time(yards: int, seed: int, runs: int) -> dict[str, Any]:
    world = invented_portfolio(yards, seed)
    plan = build_plan(world).plan
    hazards = invented_hazards(world)
    together = _seconds(world, plan, hazards, runs, seed)
    few = max(1, runs // 100)
    alone = sum(_seconds(world, plan, hazards, 1, seed + n) for n in range(few)) * runs / few
    return {
        "activities": len(world.works),
        "seconds": round(together, 3),
        "one_by_one_seconds": round(alone, 1),
        "times_faster": round(alone / together, 1),
    }


def _seconds(world: World, plan: Plan, hazards: Hazards, runs: int, seed: int) -> float:
    began = perf_counter()
    run_futures(world, plan, weather=hazards, runs=runs, dice=Dice(seed))
    return perf_counter() - began


def invented_hazards(world: World) -> Hazards:
    """Return weather of one place on loam for all works, classes and paces in turn."""
    library = current_library()
    near = near_of(by_name(climates(), PLACE))
    place = Place(
        near.climate.station,
        rain_at(near),
        warmth_at(near),
        library.dryout["loam"],
        near.climate.spot.lat,
        {},
    )
    limits = [limits_of(library.weather[key]) for key in CLASSES]
    return Hazards(
        places=dict.fromkeys(world.jobs, place),
        limits={work: limits[n % len(limits)] for n, work in enumerate(world.works)},
        paces=dict.fromkeys(world.works, (0.7, 1.6)),
    )
