"""Measure search and solver against the quick builder and a plain schedule, timed in the same run."""

from __future__ import annotations

from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING, Any

from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.search.project import Lister, least_makespan, makespan, tails
from jobs.services.files.portfolio_file import read_portfolio
from jobs.services.files.psplib import read_project
from jobs.services.planning.solve_project import solve
from jobs.services.planning.solve_world import Limits, solve_world

from .feeds import NothingToMeasureWith
from .invented import invented_portfolio

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.scheduling.result import Score
    from jobs.scheduling.search.project import Project
    from jobs.scheduling.world import World

SECONDS = 10.0
WORKERS = 2
SIZES = (5, 10, 20)
"""Yards of the invented portfolios measured where no file is given."""


def bench_portfolio(
    *,
    seed: int = 0,
    files: Sequence[str] = (),
    limit: float = SECONDS,
    sizes: Sequence[int] = SIZES,
) -> dict[str, Any]:
    """Level portfolios, from files or invented, and compare with the quick builder's answer.

    Returns
    -------
    dict
        ``{bench, limit, workers, rows: [{name, jobs, activities, quick_ms, quick, ours, bound, sound}]}``;
        scores are [weighted days late, sum of last slots].
    """
    worlds = [(Path(file).stem, read_portfolio(Path(file)).world) for file in files]
    worlds = worlds or [(f"invented {n}", invented_portfolio(n, seed)) for n in sizes]
    rows = [_level(name, world, seed, limit) for name, world in worlds]
    return {"bench": "portfolio", "limit": limit, "workers": WORKERS, "rows": rows}


def _level(name: str, world: World, seed: int, limit: float) -> dict[str, Any]:
    begun = perf_counter()
    quick = build_plan(world, seed=seed)
    took = perf_counter() - begun
    ours = solve_world(world, Limits(seconds=limit, workers=WORKERS), seed=seed)
    return {
        "name": name,
        "jobs": len(world.jobs),
        "activities": len(world.works),
        "quick_ms": round(took * 1000, 1),
        "quick": _told(quick.score),
        "ours": _told(ours.score),
        "bound": _told(ours.bound),
        "status": ours.status.value,
        "sound": judge_plan(world, ours.plan).sound,
    }


def _told(score: Score) -> list[int]:
    """A score where nothing is published."""
    return [score.late, score.finish]


def bench_psplib(
    *, seed: int = 0, files: Sequence[str] = (), limit: float = SECONDS
) -> dict[str, Any]:
    """Solve project files and compare with one list schedule, longest tail first.

    Returns
    -------
    dict
        ``{bench, limit, workers, rows: [{name, activities, list, ours, least, bound, status, seconds}]}``;
        ``least`` is the longest path or the fullest resource, whichever is more.

    Raises
    ------
    NothingToMeasureWith
        If no file is given: such problems are not ours to pass on.
    """
    if not files:
        raise NothingToMeasureWith("bench psplib needs project files: bench psplib FILE ...")
    rows = [_solve(read_project(Path(file)), seed, limit) for file in files]
    return {"bench": "psplib", "limit": limit, "workers": WORKERS, "rows": rows}


def _solve(project: Project, seed: int, limit: float) -> dict[str, Any]:
    lister = Lister(project)
    order = lister.in_turn([float(-tail) for tail in tails(project)])
    listed = makespan(project, lister.schedule(order))
    solved = solve(project, limit=limit, workers=WORKERS, seed=seed)
    return {
        "name": project.name,
        "activities": len(project.durations),
        "list": listed,
        "ours": solved.makespan,
        "least": least_makespan(project),
        "bound": solved.bound,
        "status": solved.status.value,
        "seconds": round(solved.seconds, 2),
    }


def solve_text(figures: dict[str, Any]) -> str:
    """Return figures as lines of text."""
    lines = [f"{figures['limit']:g} s, {figures['workers']} processes"]
    for row in figures["rows"]:
        if figures["bench"] == "psplib":
            lines.append(
                "{name}: {list} by a list, {ours} solved, at least {bound}: {status}".format(**row)
            )
        else:
            lines.append(
                "{name}: {quick[0]}/{quick[1]} quick in {quick_ms} ms, {ours[0]}/{ours[1]} levelled, "
                "at least {bound[0]}/{bound[1]}: {status}".format(**row)
            )
    return "\n".join(lines)
