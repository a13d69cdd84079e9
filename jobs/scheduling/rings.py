"""Works in order, forerunners first; those that wait for each other in a ring are named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .errors import NoPlan
from .kernel import order_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .world import Work, World


def check_rings(world: World) -> None:
    """Look for works that wait for each other, before anything else is read of a world.

    Raises
    ------
    NoPlan
        If links run in a ring; its works are the culprits.
    """
    works = tuple(world.works.values())
    number = {work.id: i for i, work in enumerate(works)}
    after: list[list[int]] = [[] for _ in works]
    for tie in world.ties:
        if world.works[tie.after].done is None:
            after[number[tie.before]].append(number[tie.after])
    in_order(works, after)


def in_order(works: Sequence[Work], after: Sequence[Sequence[int]]) -> list[int]:
    """Return works by number, forerunners first."""
    order = order_of(after)
    if len(order) < len(works):
        raise _ring(works, after)
    return order


def _ring(works: Sequence[Work], after: Sequence[Sequence[int]]) -> NoPlan:
    import networkx as nx  # noqa: PLC0415 (slow to import, and rings are rare)

    graph = nx.DiGraph((u, v) for u, followers in enumerate(after) for v in followers)
    ring = [works[u] for u, *_ in nx.find_cycle(graph)]
    return NoPlan(
        f"{' - '.join(work.name for work in ring)} wait for each other in a ring",
        remedy="remove one of these links",
        culprits=tuple(work.id for work in ring),
    )
