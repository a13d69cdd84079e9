"""Measure the planner against a plain reference, both in the same run and from the same lists."""

from __future__ import annotations

import gc
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING, Any

import networkx as nx

from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.kernel import find_dates, prepare
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.placing.board import Board
from jobs.scheduling.placing.builder import Builder
from jobs.scheduling.placing.held_back import held_back
from jobs.scheduling.placing.priorities import by_late_start, facts_of
from jobs.scheduling.ready import Ready
from jobs.scheduling.search.dispatch import build_plan

from .feeds import bench_feeds
from .invented import invented_network, invented_portfolio
from .outlook import bench_outlook
from .replan import bench_replan
from .solve import bench_portfolio, bench_psplib

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from jobs.scheduling.kernel import Bond

SIZES = (1_000, 10_000, 100_000)
TIMES = 5
"""Runs of each side; the median counts."""


def bench_cpm(*, seed: int = 0, sizes: tuple[int, ...] = SIZES, jobs: int = 40) -> dict[str, Any]:
    """Time the critical path at some sizes, and one pass of the quick builder.

    Both sides start from the same lists of durations and links. Ours: put in order, forward and
    backward pass, total and free float of every activity. The reference finds the length of the longest
    path alone, with networkx, on a graph built beforehand.

    Returns
    -------
    dict
        ``{bench, sizes: [{activities, links, ours_ms, reference_ms, times_faster}], quick}``.
    """
    return {
        "bench": "cpm",
        "sizes": [_time_network(size, seed) for size in sizes],
        "quick": time_builder(jobs=jobs, seed=seed),
    }


def bench_quick(*, seed: int = 0, jobs: int = 40) -> dict[str, Any]:
    """Time one pass of the quick builder alone."""
    return {"bench": "quick", "quick": time_builder(jobs=jobs, seed=seed)}


def _time_network(size: int, seed: int) -> dict[str, Any]:
    durations, bonds = invented_network(size, seed)
    network, graph = prepare(durations, bonds), _graph(durations, bonds)
    ours = _milliseconds(lambda: find_dates(network))
    reference = _milliseconds(lambda: nx.dag_longest_path_length(graph))
    finish = find_dates(network).finish
    if finish != nx.dag_longest_path_length(graph):
        raise RuntimeError(f"the two sides differ at {size} activities; nothing was measured")
    return {
        "activities": size,
        "links": len(bonds),
        "ours_ms": round(ours, 2),
        "reference_ms": round(reference, 2),
        "times_faster": round(reference / ours, 2),
    }


def _graph(durations: list[float], bonds: list[Bond]) -> nx.DiGraph[int]:
    """Starts as nodes, least distances as weights, one last node after all."""
    graph: nx.DiGraph[int] = nx.DiGraph()
    end = len(durations)
    graph.add_weighted_edges_from((u, end, duration) for u, duration in enumerate(durations))
    for bond in bonds:
        graph.add_edge(bond.before, bond.after, weight=durations[bond.before] + bond.lag)
    return graph


def _milliseconds(run: Callable[[], object]) -> float:
    """Median of several runs, the collector of rubbish switched off as ``timeit`` does."""
    times = []
    for _ in range(TIMES):
        gc.collect()
        gc.disable()
        begun = perf_counter()
        run()
        times.append(perf_counter() - begun)
        gc.enable()
    return median(times) * 1000


def time_builder(*, jobs: int = 40, seed: int = 0) -> dict[str, Any]:
    """Time one pass of one priority rule on an invented portfolio.

    Returns
    -------
    dict
        ``ms`` for everything from the world to the result, ``pass_ms`` for placing the works alone.
    """
    world = invented_portfolio(jobs, seed)
    result = build_plan(world, rules=("late start",))
    ready = Ready(world)
    early, after = early_dates(ready), held_back(ready)
    keys = by_late_start(facts_of(ready, early))
    return {
        "jobs": jobs,
        "activities": len(world.works),
        "links": len(world.ties),
        "ms": round(_milliseconds(lambda: build_plan(world, rules=("late start",))), 1),
        "pass_ms": round(
            _milliseconds(lambda: Builder(Board(ready, early), after, keys).build()), 1
        ),
        "sound": judge_plan(world, result.plan).sound,
        "late": result.score.late,
        "finish": result.score.finish,
    }


BENCHES: Mapping[str, Callable[..., dict[str, Any]]] = {
    "cpm": bench_cpm,
    "feeds": bench_feeds,
    "outlook": bench_outlook,
    "portfolio": bench_portfolio,
    "psplib": bench_psplib,
    "quick": bench_quick,
    "replan": bench_replan,
}
"""By the name the command knows them by; each takes ``seed``."""
OF_FILES = ("portfolio", "psplib")
"""Those that also take ``files`` and ``limit``."""
