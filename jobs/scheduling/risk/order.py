"""The order a plan stands in, dates left aside: who waits for whom, and who shares what.

A crew, a machine, a zone, a yard or a passage has no order of its own: it goes to each work in the plan's turn, and
while the one whose turn it is cannot go on, to the next that can.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

import networkx as nx

from jobs.trade.work import Lag, Relation

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from jobs.scheduling.result import Placement, Plan
    from jobs.scheduling.world import Tie, Work, World

CREW = "crew"
WHOLE = 100
"""Percent of a passage there are to share."""


class Follow(NamedTuple):
    """One work waits for another: by a link, or for ground that is kept clear."""

    before: str
    after: str
    relation: Relation = Relation.FINISH_START
    lag: Lag = Lag()


class Share(NamedTuple):
    """What a work takes, in each slot it is at work, of something there is only so much of.

    ``moves`` is True for a crew that works in several yards.
    """

    of: tuple[str, ...]
    most: int
    takes: int
    moves: bool = False


class Order(NamedTuple):
    """Works in an order in which each comes after all it waits for, what it waits for and what it shares."""

    works: Sequence[str]
    waits: Mapping[str, Sequence[Follow]]
    shares: Mapping[str, Sequence[Share]]


def order_of(world: World, plan: Plan, *, apart: bool = False) -> Order:
    """Return the order a plan stands in.

    Parameters
    ----------
    apart
        As if each job had crews and machines of its own.
    """
    waits: dict[str, list[Follow]] = {work: [] for work in world.works}
    for follow in _follows(world, plan):
        if world.works[follow.after].done is None:
            waits[follow.after].append(follow)
    works = _sorted(world, plan, waits)
    return Order(
        works, waits, _contested(world, _all_shares(world, plan, apart=apart), works, waits)
    )


def _all_shares(world: World, plan: Plan, *, apart: bool) -> dict[str, list[Share]]:
    """What each work takes that is not done yet; each job of its own if they are apart."""
    return {
        work.id: [
            share._replace(of=(*share.of, work.job)) if apart else share
            for share in _shares(world, work, plan[work.id])
        ]
        for work in world.works.values()
        if work.done is None or work.done.end is None
    }


def _follows(world: World, plan: Plan) -> Iterator[Follow]:
    for tie in world.ties:
        yield _of_tie(tie)
    yield from _kept_out(world, plan)


def _of_tie(tie: Tie) -> Follow:
    return Follow(tie.before, tie.after, tie.relation, tie.lag)


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


def _sorted(world: World, plan: Plan, waits: Mapping[str, Sequence[Follow]]) -> list[str]:
    """Order of the graph, ties by the plan; if starts and finishes tangle, the plan's own order."""

    def place(work: str) -> tuple[int, int, str]:
        return plan[work].start, plan[work].end, work

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(world.works)
    graph.add_edges_from((f.before, f.after) for follows in waits.values() for f in follows)
    if nx.is_directed_acyclic_graph(graph):
        return list(nx.lexicographical_topological_sort(graph, key=place))
    return sorted(world.works, key=place)


# -- what is shared ------------------------------------------------------------------------


def _contested(
    world: World,
    shares: Mapping[str, Sequence[Share]],
    works: Sequence[str],
    waits: Mapping[str, Sequence[Follow]],
) -> dict[str, list[Share]]:
    """Return what each work may have to wait for.

    That is what it shares with works it is not chained to, and a crew that other yards have, too.
    """
    users: dict[tuple[str, ...], int] = defaultdict(int)
    yards: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for n, name in enumerate(works):
        for share in shares.get(name, ()):
            users[share.of] |= 1 << n
            yards[share.of].add(world.works[name].job)
    moves = {of for of, jobs in yards.items() if of[0] == CREW and len(jobs) > 1}
    return {
        name: [
            share._replace(moves=share.of in moves)
            for share in shares.get(name, ())
            if share.of in moves or users[share.of] & ~chained
        ]
        for name, chained in zip(works, _chained(works, waits), strict=True)
    }


def _shares(world: World, work: Work, at: Placement) -> Iterator[Share]:
    """Everything a placed work takes while it is at work."""
    for crew in work.held_by(at.crew):
        yield Share((CREW, crew), 1, 1)
    for name, unit in at.machines:
        yield Share(("machine", name, str(unit)), 1, 1)
    if work.crews:
        yield Share(("yard", work.job), world.jobs[work.job].crews, 1)
        crews = world.places[work.place].crews if work.place else None
        if crews is not None:
            yield Share(("zone", work.place), crews, 1)
    for name, share in work.hauls.items():
        most = min(WHOLE, world.places[name].share)
        yield Share(("way", name), most, min(share, most))


def _chained(works: Sequence[str], waits: Mapping[str, Sequence[Follow]]) -> list[int]:
    """Return with whom each work can never meet, as a bitmap: itself, and all wholly before or after it."""
    number = {name: n for n, name in enumerate(works)}
    whole = [
        (number[f.before], number[f.after])
        for follows in waits.values()
        for f in follows
        if f.relation is Relation.FINISH_START and f.lag.amount >= 0
    ]
    before, after = ([1 << n for n in range(len(works))] for _ in range(2))
    for first, then in sorted(whole, key=lambda pair: pair[1]):
        before[then] |= before[first]
    for first, then in sorted(whole, reverse=True):
        after[first] |= after[then]
    return [a | b for a, b in zip(before, after, strict=True)]
