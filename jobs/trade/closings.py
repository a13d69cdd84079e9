"""Don't build yourself out: finished work that shuts a way in, and loads that still have to pass.

Only loads on wheels or tracks are looked at: people walk, and barrows run on planks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import networkx as nx

from .scope import Problem
from .sequence import graph_of
from .work import Link, Relation, Sentence, Tread

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from .access import Ways
    from .library import Library
    from .templates import MachineKind, Template
    from .work import Activity, ActivityKey

BEFORE_CLOSING = "ways-in-before-closing"
AFTER_OPENING = "ways-in-after-opening"
WAYS_ROUND = (
    "ways round: pump it, lift it over the house by crane, lay mats once strength is proved, "
    "take barrows at their slower pace, or use a neighbor's gate with written leave"
)


class Kept(NamedTuple):
    """Links that keep ways in open, and pairs of works that shut each other out."""

    links: list[Link]
    problems: list[Problem]


def keep_open(
    activities: Sequence[Activity], links: Sequence[Link], ways: Ways, library: Library
) -> Kept:
    """Order closings and the loads that still have to pass them.

    A work that shuts its zone for good comes after every load that has no other way in; one that
    shuts it for a time is passed before, or after what opens it again.
    """
    kept = Kept([], [])
    graph = graph_of(links, (activity.key for activity in activities))
    names = {activity.key: activity.name for activity in activities}
    for closing, load in _meetings(activities, ways, library):
        template = library.templates[closing.key.template]
        if template.reopens:
            _wait_for_opening(kept, graph, template, closing, load, activities)
        elif nx.has_path(graph, closing.key, load.key):
            kept.problems.append(_conflict(closing, load, ways))
        else:
            _add(kept, graph, BEFORE_CLOSING, load.key, closing.key, names)
    return kept


def _meetings(
    activities: Sequence[Activity], ways: Ways, library: Library
) -> Iterator[tuple[Activity, Activity]]:
    """Every closing with every load whose only way in leads through the closed zone."""
    heavy = [a for a in activities if max(a.treads.values(), default=0) >= Tread.MACHINE]
    for closing in activities:
        shut = library.templates[closing.key.template].closes
        zone = closing.key.zone
        if shut is None or ways.yard.zone(zone).whole:
            continue
        for load in heavy:
            if load.key.zone == zone or load.treads.get(zone, 0) < shut:
                continue
            if not _way_round(load, zone, ways, library):
                yield closing, load


def _way_round(load: Activity, shut: str, ways: Ways, library: Library) -> bool:
    """Return True if the machines of a load find another way in, the shut zone not in it."""
    kinds: list[MachineKind] = [library.machines[need.machine] for need in load.machines]
    widest = max(kinds, key=lambda kind: kind.passage, default=None)
    return ways.way_round(load.key.zone, shut, widest)


def _wait_for_opening(
    kept: Kept,
    graph: nx.DiGraph[ActivityKey],
    template: Template,
    closing: Activity,
    load: Activity,
    activities: Iterable[Activity],
) -> None:
    """A load that comes after a closing waits for what opens the zone again."""
    if not nx.has_path(graph, closing.key, load.key):
        return
    for opener in activities:
        same = (opener.key.item, opener.key.zone) == (closing.key.item, closing.key.zone)
        if same and opener.key.template in template.reopens:
            names = {opener.key: opener.name, load.key: load.name}
            if not nx.has_path(graph, load.key, opener.key):
                _add(kept, graph, AFTER_OPENING, opener.key, load.key, names)


def _add(
    kept: Kept,
    graph: nx.DiGraph[ActivityKey],
    rule: str,
    before: ActivityKey,
    after: ActivityKey,
    names: dict[ActivityKey, str],
) -> None:
    why = Sentence(rule, {"before": names[before], "after": names[after]})
    kept.links.append(Link(before, after, rule, Relation.FINISH_START, why=why))
    graph.add_edge(before, after)


def _conflict(closing: Activity, load: Activity, ways: Ways) -> Problem:
    place = ways.yard.zone(closing.key.zone).name
    return Problem(
        where=load.key.item,
        key="",
        reason=(
            f"{closing.name} shuts {place} to what {load.name} still has to bring through, "
            f"and must itself come first"
        ),
        remedy=WAYS_ROUND,
    )
