"""The order a plan stands in: who waits for whom, dates left aside.

Besides the links, whoever takes over a machine unit, a zone, the yard or a passage waits for whom he took it
over from. Futures keep this order and let the dates fall where they may. A crew is shared otherwise: while
its first work waits for the weather it gets on with its next.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

import networkx as nx

from jobs.trade.work import Lag, Relation

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from jobs.scheduling.result import Placement, Plan
    from jobs.scheduling.world import Tie, Work, World

WHOLE = 100
"""Percent of a passage there are to hand over."""


class Hold(NamedTuple):
    """A work that holds some units of something from a slot to another, both inclusive."""

    start: int
    end: int
    units: int
    work: str


class Follow(NamedTuple):
    """One work waits for another: by a link, a keep-out, or because it takes something over."""

    before: str
    after: str
    relation: Relation = Relation.FINISH_START
    lag: Lag = Lag()


def order_of(world: World, plan: Plan) -> tuple[list[str], dict[str, list[Follow]]]:
    """Return the works in an order in which each comes after all it waits for, and what each waits for."""
    waits: dict[str, list[Follow]] = {work: [] for work in world.works}
    for follow in _follows(world, plan):
        if world.works[follow.after].done is None:
            waits[follow.after].append(follow)
    return _sorted(world, plan, waits), waits


def _follows(world: World, plan: Plan) -> Iterator[Follow]:
    for tie in world.ties:
        yield _of_tie(tie)
    pairs = {pair for units, held in _held(world, plan) for pair in hand_over(units, held)}
    for before, after in sorted(pairs):
        yield Follow(before, after)
    yield from _kept_out(world, plan)


def _of_tie(tie: Tie) -> Follow:
    return Follow(tie.before, tie.after, tie.relation, tie.lag)


def _held(world: World, plan: Plan) -> Iterator[tuple[int, list[Hold]]]:
    """Everything that is handed over, with the units there are and who holds them."""
    held: dict[tuple[str, ...], list[Hold]] = defaultdict(list)
    units: dict[tuple[str, ...], int] = {}
    for work in world.works.values():
        for key, count, share in _needs(world, work, plan[work.id]):
            units[key] = count
            at = plan[work.id]
            held[key].append(Hold(at.start, at.end, share, work.id))
    for key in sorted(held):
        yield units[key], held[key]


def _needs(world: World, work: Work, at: Placement) -> Iterator[tuple[tuple[str, ...], int, int]]:
    """What a placed work holds: key, units there are, units it takes."""
    for name, unit in at.machines:
        yield ("machine", name, str(unit)), 1, 1
    if work.crews:
        job = world.jobs[work.job]
        yield ("yard", work.job, work.shift), job.crews, 1
        if work.place and world.places[work.place].crews:
            yield ("zone", work.place, work.shift), world.places[work.place].crews or 1, 1
    for name, share in work.hauls.items():
        most = min(WHOLE, world.places[name].share)
        yield ("way", name), most, min(share, most)


def hand_over(units: int, held: Sequence[Hold]) -> set[tuple[str, str]]:
    """Return who takes over from whom: each work takes the units that came free last.

    Taking the latest leaves early ones to others, so that few works hang on each other.
    """
    free: list[tuple[int, str]] = [(-1, "")] * units
    pairs = set()
    for hold in sorted(held):
        ready = [unit for unit in sorted(free, reverse=True) if unit[0] < hold.start]
        taken = ready[: hold.units]
        pairs |= {(before, hold.work) for _, before in taken if before}
        for unit in taken:
            free.remove(unit)
            free.append((hold.end, hold.work))
    return pairs


def _kept_out(world: World, plan: Plan) -> Iterator[Follow]:
    """Who treads on kept-out ground comes after it is free, or was gone before the work."""
    for owner in world.works.values():
        for keepout in owner.keepouts:
            for work in world.works.values():
                tread = work.treads.get(keepout.place)
                exempt = work.id == owner.id or work.id in keepout.exempt
                if exempt or tread is None or tread < keepout.keeps_out:
                    continue
                if plan[work.id].start > plan[owner.id].end:
                    yield Follow(owner.id, work.id, lag=Lag(keepout.minutes))
                elif plan[work.id].end < plan[owner.id].start:
                    yield Follow(work.id, owner.id)


def _sorted(world: World, plan: Plan, waits: dict[str, list[Follow]]) -> list[str]:
    """Order of the graph, ties by the plan; if starts and finishes tangle, the plan's own order."""

    def place(work: str) -> tuple[int, int, str]:
        return plan[work].start, plan[work].end, work

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(world.works)
    graph.add_edges_from((f.before, f.after) for follows in waits.values() for f in follows)
    if nx.is_directed_acyclic_graph(graph):
        return list(nx.lexicographical_topological_sort(graph, key=place))
    return sorted(world.works, key=place)
