"""Makes one sound sequence of many links: each once, no ring, nothing dangling, nothing superfluous."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

import networkx as nx

from .errors import CycleError
from .work import Clock, Lag, Link, Relation

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from .work import Activity, ActivityKey

    Graph = nx.DiGraph[ActivityKey]

CLOCK_MINUTES: Mapping[Clock, int] = {
    Clock.ELAPSED: 1,
    Clock.WORK: 6 * 60,
    Clock.BUSINESS: 34 * 60,
}
"""Minutes on the wall that one of each is roughly worth: of seven days five are business days."""
DAY = 24 * 60


def once_each(links: Iterable[Link]) -> list[Link]:
    """Return one link for each pair and relation: the longest wait, the shortest at-most."""
    kept: dict[tuple[ActivityKey, ActivityKey, Relation], Link] = {}
    for link in links:
        mark = (link.before, link.after, link.relation)
        kept[mark] = _stricter(kept[mark], link) if mark in kept else link
    return list(kept.values())


def _stricter(one: Link, two: Link) -> Link:
    longer = two if _worth(two.lag) > _worth(one.lag) else one
    limits = [link.lag.at_most for link in (one, two) if link.lag.at_most is not None]
    lag = Lag(longer.lag.amount, longer.lag.clock, min(limits, default=None), longer.lag.wait)
    return replace(longer, lag=lag)


def _worth(lag: Lag) -> int:
    return lag.amount * CLOCK_MINUTES[lag.clock]


def graph_of(links: Iterable[Link], keys: Iterable[ActivityKey] = ()) -> Graph:
    """Return what is bound to what, whatever the relation."""
    graph: Graph = nx.DiGraph()
    graph.add_nodes_from(keys)
    graph.add_edges_from((link.before, link.after) for link in links)
    return graph


def check_no_ring(links: Sequence[Link], names: Mapping[ActivityKey, str]) -> None:
    """Refuse works that wait for each other.

    Raises
    ------
    CycleError
        With the members of one ring, in order.
    """
    graph = graph_of(links)
    if nx.is_directed_acyclic_graph(graph):
        return
    ring = nx.find_cycle(graph)
    members = tuple(str(before) for before, _ in ring)
    told = ", then ".join(names[before] for before, _ in ring)
    raise CycleError(
        members,
        reason=f"these wait for each other in a ring: {told}",
        remedy="take out one of the links between them, or move one into another zone",
    )


def without_rings(firm: Sequence[Link], more: Sequence[Link]) -> tuple[list[Link], list[Link]]:
    """Add links to a sound sequence one by one; those that would close a ring are returned apart."""
    graph = graph_of(firm)
    added: list[Link] = []
    refused: list[Link] = []
    for link in more:
        closes = (
            link.after in graph
            and link.before in graph
            and nx.has_path(graph, link.after, link.before)
        )
        (refused if closes else added).append(link)
        if not closes:
            graph.add_edge(link.before, link.after)
    return added, refused


def holding_nothing_up(links: Sequence[Link], more: Sequence[Link]) -> list[Link]:
    """Return further links whose followers' own followers all wait for the forerunner anyway."""
    graph = graph_of(links, (key for link in more for key in (link.before, link.after)))
    return [
        link
        for link in more
        if set(graph.successors(link.after)) <= nx.descendants(graph, link.before)
    ]


def without_superfluous(links: Sequence[Link]) -> list[Link]:
    """Drop plain finish-to-start links that other finish-to-start links already imply.

    A link with a wait or an at-most is never dropped.
    """
    ties = [
        link for link in links if link.relation is Relation.FINISH_START and link.lag.amount >= 0
    ]
    needed = nx.transitive_reduction(graph_of(ties)).edges
    return [link for link in links if not _plain(link) or (link.before, link.after) in needed]


def _plain(link: Link) -> bool:
    return (
        link.relation is Relation.FINISH_START and link.lag.amount == 0 and link.lag.at_most is None
    )


def in_order(activities: Iterable[Activity], links: Sequence[Link]) -> list[Activity]:
    """Return activities in the order of building, as if every crew were free.

    Sorted by rough early starts: a crew day is a calendar day, waits run as they are. Ties are broken
    by what stands behind them in the sequence, then by key.
    """
    by_key = {activity.key: activity for activity in activities}
    into: dict[ActivityKey, list[Link]] = defaultdict(list)
    for link in links:
        into[link.after].append(link)
    starts: dict[ActivityKey, int] = {}
    steps = list(nx.lexicographical_topological_sort(graph_of(links, by_key), key=str))
    for key in steps:
        starts[key] = max([0, *(_start(link, starts, by_key) for link in into[key])])
    place = {key: step for step, key in enumerate(steps)}
    return [by_key[key] for key in sorted(steps, key=lambda key: (starts[key], place[key]))]


def _start(
    link: Link, starts: Mapping[ActivityKey, int], by_key: Mapping[ActivityKey, Activity]
) -> int:
    event = starts[link.before]
    if link.relation.from_finish:
        event += _minutes(by_key[link.before])
    if link.relation.to_finish:
        event -= _minutes(by_key[link.after])
    return event + _worth(link.lag)


def _minutes(activity: Activity) -> int:
    return max(1, round(activity.spread.typical * DAY))
