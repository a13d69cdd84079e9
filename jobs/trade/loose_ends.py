"""Ties up what no rule tied: every work has something before it and leads to the hand-over."""

from __future__ import annotations

from typing import TYPE_CHECKING

import networkx as nx

from .sequence import graph_of
from .work import Link, Sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .work import Activity, ActivityKey

FIRST = "design-sign-off"
BEGIN = ("start-walk", FIRST)
END = ("clean-up", "punch-list", "walk-through")
LAST = "walk-through"
BEGINS = "loose-ends-begin"
ENDS = "loose-ends-finish"


def tie_up(activities: Sequence[Activity], links: Sequence[Link]) -> list[Link]:
    """Return links for the works that hang in the air: from the first walk, and to the clean-up.

    Return visits do not make the job's finish, so nothing need follow them.
    """
    graph = graph_of(links, (activity.key for activity in activities))
    found: list[Link] = []
    for activity in activities:
        if activity.key.template != FIRST and not graph.pred[activity.key]:
            found += _tie(graph, BEGINS, activities, BEGIN, activity, forward=False)
    for activity in activities:
        if activity.counts and not _leads_to(graph, activity.key, LAST):
            found += _tie(graph, ENDS, activities, END, activity, forward=True)
    return found


def _leads_to(graph: nx.DiGraph[ActivityKey], key: ActivityKey, template: str) -> bool:
    return key.template == template or any(
        after.template == template for after in nx.descendants(graph, key)
    )


def _tie(
    graph: nx.DiGraph[ActivityKey],
    rule: str,
    activities: Sequence[Activity],
    templates: Sequence[str],
    loose: Activity,
    *,
    forward: bool,
) -> list[Link]:
    """Tie to the first of some templates that is there and closes no ring."""
    for template in templates:
        for other in activities:
            if other.key.template != template or other.key == loose.key:
                continue
            before, after = (loose.key, other.key) if forward else (other.key, loose.key)
            if not nx.has_path(graph, after, before):
                graph.add_edge(before, after)
                return [Link(before, after, rule, why=Sentence(rule))]
    return []
