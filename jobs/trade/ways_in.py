"""Ways in: what passes a gate or a corner, which way a load takes, who is shut out and why.

Zones and passages form a graph from the street inward; passages are nodes of it, so that a load may be kept
out of them. Lengths are whole tenths of a millimetre.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING

import networkx as nx

from .scope import STREET, PassageIn
from .units import say_length
from .work import Sentence, Tread

if TYPE_CHECKING:
    from collections.abc import Callable, Container, Iterable

    from .scope import ZoneIn
    from .templates import MachineKind

    Graph = nx.DiGraph[str | PassageIn]

STEEPEST_LOADED = 20
"""Percent of floor slope up which a load still goes (common practice)."""
STEPS = "steps"
"""Floor that nothing on wheels or tracks passes."""
UNMEASURED_FT = 20
"""Length a passage is taken to have when nobody measured it."""
ROUGH, FINE = 900, 60
"""Angles looked at first (a tenth of a degree apart), and halvings about the best of them."""


@dataclass(frozen=True, slots=True)
class Load:
    """What has to get through: a machine, concrete on its way.

    Attributes
    ----------
    needs
        Clear width at the narrowest, clearance included.
    headroom
        Clear height; 0 for what a person carries under any gate.
    rolls
        It goes on wheels or tracks: steps stop it, and so does a floor too steep.
    """

    name: str
    needs: int
    weight_lb: int = 0
    headroom: int = 0
    rolls: bool = True


def longest_round_corner(first: int, second: int, width: int) -> int:
    """Return the longest body of a width that gets round a right-angle turn; 0 if none does.

    Parameters
    ----------
    first, second
        Clear widths of the two passages that meet.
    width
        Of the body, clearance included.

    Notes
    -----
    The least value over angles t between 0 and 90 degrees of
    (first cos t + second sin t - width) / (sin t cos t): the body touches both outer walls and the
    inner corner.
    """
    if width >= min(first, second):
        return 0

    def room(t: float) -> float:
        return (first * cos(t) + second * sin(t) - width) / (sin(t) * cos(t))

    step = pi / 2 / ROUGH
    best = min((n * step for n in range(1, ROUGH)), key=room)
    return int(room(_lowest(room, best - step / 2, best + step / 2)))


def _lowest(room: Callable[[float], float], low: float, high: float) -> float:
    """Narrow a valley down by thirds."""
    for _ in range(FINE):
        third = (high - low) / 3
        if room(low + third) <= room(high - third):
            high -= third
        else:
            low += third
    return (low + high) / 2


def machine_load(kind: MachineKind) -> Load:
    """Return a machine as a load."""
    return Load(
        kind.name, kind.passage, kind.weight_lb, kind.headroom, rolls=kind.tread > Tread.FOOT
    )


# -- the graph -------------------------------------------------------------------------


def yard_graph(zones: Iterable[ZoneIn], passages: Iterable[PassageIn]) -> Graph:
    """Return the yard from the street inward: zones and passages as nodes, edges both ways.

    A zone nobody drew a way to is entered from the whole yard; where nobody drew a way to that
    either, it is open to the street.
    """
    graph: Graph = nx.DiGraph()
    graph.add_node(STREET)
    for passage in sorted(passages, key=lambda p: p.uid):
        feet = passage.length_ft or UNMEASURED_FT
        for one, other in ((passage.start, passage.end), (passage.end, passage.start)):
            graph.add_edge(one, passage, ft=feet)
            graph.add_edge(passage, other, ft=0)
    return _open_rest(graph, sorted(zones, key=lambda zone: not zone.whole))


def _open_rest(graph: Graph, zones: list[ZoneIn]) -> Graph:
    """Join zones without a way of their own; the whole yard comes first."""
    drawn = nx.descendants(graph, STREET)
    whole = next((zone.uid for zone in zones if zone.whole), STREET)
    yard_drawn = whole in drawn
    for zone in zones:
        if zone.uid not in drawn:
            graph.add_edge(whole if yard_drawn else STREET, zone.uid, ft=0)
    return graph


def way_in(graph: Graph, zone: str, load: Load | None = None) -> tuple[PassageIn, ...] | None:
    """Return the passages of the shortest way from the street to a zone, in order.

    Parameters
    ----------
    load
        Only ways that let it through; any way without one.

    Returns
    -------
    tuple of PassageIn or None
        Empty if the zone lies open to the street; None if there is no way.
    """
    open_to = graph if load is None else _let_through(graph, load)
    try:
        nodes = nx.dijkstra_path(open_to, STREET, zone, weight="ft")
    except (nx.NetworkXNoPath, nx.NodeNotFound):
        return None
    return tuple(node for node in nodes if isinstance(node, PassageIn))


def can_reach(graph: Graph, zone: str, load: Load, closed: Container[str] = ()) -> bool:
    """Return True if a load gets from the street to a zone.

    Parameters
    ----------
    closed
        Uids of zones and passages it may not cross; its own zone counts, for it ends there.
    """
    open_to = nx.subgraph_view(
        _let_through(graph, load), filter_node=lambda node: _uid(node) not in closed
    )
    return zone in open_to and nx.has_path(open_to, STREET, zone)


def _let_through(graph: Graph, load: Load) -> Graph:
    def opens(node: str | PassageIn) -> bool:
        return not isinstance(node, PassageIn) or not obstacles(node, load)

    view: Graph = nx.subgraph_view(graph, filter_node=opens)
    return view


def _uid(node: str | PassageIn) -> str:
    return node.uid if isinstance(node, PassageIn) else node


# -- what is in the way ----------------------------------------------------------------


def obstacles(passage: PassageIn, load: Load) -> tuple[Sentence, ...]:
    """Return everything about a passage that stops a load, as sentences; empty if it gets through."""
    names = {"load": load.name, "passage": passage.name}
    found = []
    if passage.width is not None and load.needs > passage.width:
        values = {"needs": say_length(load.needs), "is": say_length(passage.width)}
        found.append(Sentence("way-too-narrow", names | values))
    if passage.load_lb is not None and load.weight_lb > passage.load_lb:
        values = {"weighs": f"{load.weight_lb:,}", "bears": f"{passage.load_lb:,}"}
        found.append(Sentence("way-too-weak", names | values))
    if passage.headroom is not None and load.headroom > passage.headroom:
        values = {"needs": say_length(load.headroom), "is": say_length(passage.headroom)}
        found.append(Sentence("way-too-low", names | values))
    if load.rolls and passage.floor == STEPS:
        found.append(Sentence("way-has-steps", names))
    if load.rolls and passage.slope_percent > STEEPEST_LOADED:
        values = {"is": str(passage.slope_percent), "most": str(STEEPEST_LOADED)}
        found.append(Sentence("way-too-steep", names | values))
    return tuple(found)


def in_the_way(graph: Graph, zone: str, load: Load) -> tuple[Sentence, ...]:
    """Return what keeps a load from a zone, on the way with the fewest obstacles, the shortest of those.

    Nothing if it gets there.
    """
    if can_reach(graph, zone, load):
        return ()

    def cost(_: str | PassageIn, node: str | PassageIn, edge: dict[str, int]) -> float:
        stops = len(obstacles(node, load)) if isinstance(node, PassageIn) else 0
        return stops * 1_000_000 + edge["ft"]

    nodes = nx.dijkstra_path(graph, STREET, zone, weight=cost)
    passages = (node for node in nodes if isinstance(node, PassageIn))
    return tuple(sentence for passage in passages for sentence in obstacles(passage, load))
