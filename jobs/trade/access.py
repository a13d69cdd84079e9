"""Which machine gets to a zone, by which way in, and what to do where none gets through."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, partial
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import networkx as nx

from .scope import STREET
from .work import Need, Sentence, Tread

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from decimal import Decimal

    from .library import Library, MachineKind, Pace, Template
    from .scope import PassageIn, Yard

UNMEASURED_FT = 20
"""Length a passage is taken to have when nobody measured it."""
OVER_THE_HOUSE = "crane"
"""The machine that lifts over everything, and the word of the yard that says it is booked."""


@dataclass(frozen=True, slots=True)
class Route:
    """The passages from the street to a zone, in order, and the zones they lead through."""

    passages: tuple[PassageIn, ...] = ()
    zones: tuple[str, ...] = ()
    """Zones passed on the way, the zone reached not included."""

    @property
    def narrowest(self) -> PassageIn | None:
        """The passage that decides what gets through, None on an open way."""
        return min(self.passages, key=lambda p: p.width, default=None)


class Choice(NamedTuple):
    """How a work is done in its zone: with what, at which pace, by how many, by which way."""

    machines: tuple[Need, ...]
    carried: tuple[str, ...]
    """Kinds used that no capacity is kept for."""
    rate: tuple[Decimal, Decimal, Decimal]
    people: int
    tread: Tread
    route: Route
    told: tuple[Sentence, ...] = ()
    blocked: tuple[str, ...] = ()
    """Machines that do not get in, where there is no other way of doing it."""


class Ways:
    """The ways in of a yard: zones and passages as a graph from the street inward."""

    def __init__(self, yard: Yard) -> None:
        self.yard = yard

    @cached_property
    def graph(self) -> nx.MultiGraph[str]:
        """Zones (and the street) joined by passages."""
        graph: nx.MultiGraph[str] = nx.MultiGraph()
        graph.add_node(STREET)
        for p in sorted(self.yard.passages, key=lambda p: p.uid):
            graph.add_edge(p.start, p.end, key=p.uid, passage=p, ft=p.length_ft or UNMEASURED_FT)
        return graph

    def drawn(self, zone: str) -> bool:
        """Return True if somebody drew a way from the street to the zone."""
        return zone in self.graph and nx.has_path(self.graph, STREET, zone)

    def route(self, zone: str, kind: MachineKind | None = None) -> Route | None:
        """Return the shortest way in that a machine passes, None if there is none.

        A zone nobody drew a way to is open to the street.
        """
        if not self.drawn(zone):
            return Route()
        return self._shortest(zone, lambda p: kind is None or passes(kind, p))

    def route_without(self, zone: str, shut: str, kind: MachineKind | None = None) -> Route | None:
        """Return the shortest way in that a machine passes and that does not cross a zone."""
        return self._shortest(
            zone,
            lambda p: shut not in (p.start, p.end) and (kind is None or passes(kind, p)),
        )

    def widest(self, zone: str) -> Route:
        """Return the way in whose narrowest passage is widest."""
        for width in sorted({p.width for p in self.yard.passages}, reverse=True):
            found = self._wide(zone, width)
            if self.drawn(zone) and found is not None:
                return found
        return Route()

    def _wide(self, zone: str, width: int) -> Route | None:
        return self._shortest(zone, lambda p: p.width >= width)

    def _shortest(self, zone: str, opens: Callable[[PassageIn], bool]) -> Route | None:
        view = nx.subgraph_view(
            self.graph, filter_edge=lambda u, v, k: opens(self.graph.edges[u, v, k]["passage"])
        )
        try:
            nodes = nx.dijkstra_path(view, STREET, zone, weight="ft")
        except (nx.NetworkXNoPath, nx.NodeNotFound):
            return None
        steps = tuple(_nearest(view, u, v) for u, v in pairwise(nodes))
        return Route(steps, tuple(nodes[1:-1]))


def _nearest(graph: nx.MultiGraph[str], u: str, v: str) -> PassageIn:
    edges = graph[u][v]
    best: PassageIn = min(edges.values(), key=lambda e: (e["ft"], e["passage"].uid))["passage"]
    return best


def passes(kind: MachineKind, passage: PassageIn) -> bool:
    """Return True if a machine gets through a passage: wide enough, and the floor bears it."""
    bears = passage.load_lb is None or kind.weight_lb <= passage.load_lb
    return kind.passage <= passage.width and bears


class _Picked(NamedTuple):
    """Machines chosen, the first of each group none of which gets in, and the pace they keep."""

    chosen: tuple[str, ...]
    blocked: tuple[str, ...]
    pace: Pace | None


def choose(
    template: Template, zone: str, ways: Ways, library: Library, words: Mapping[str, str]
) -> Choice:
    """Return how a work is done in a zone: the machines that get there, else the next best pace.

    Of machines that serve alike the first owned one that gets in is taken, else the first that gets
    in (hired), else a pace that needs none; each step away from the usual is told.
    """
    picked = _picked(template, zone, ways, library, words)
    pace, stuck = picked.pace, bool(picked.blocked) and picked.pace is None
    largest = max(picked.chosen, key=lambda k: library.machines[k].passage, default=None)
    route = ways.route(zone, library.machines[largest] if largest else None)
    return Choice(
        machines=tuple(Need(key) for key in picked.chosen if library.machines[key].counted),
        carried=tuple(key for key in picked.chosen if not library.machines[key].counted),
        rate=pace.rate if pace else template.rate,
        people=(pace.people if pace else None) or library.crews[template.crew].usual,
        tread=_tread(template, picked, library),
        route=route or ways.route(zone) or Route(),
        told=() if stuck else _told(template, zone, picked, ways, library),
        blocked=picked.blocked if stuck else (),
    )


def _picked(
    template: Template, zone: str, ways: Ways, library: Library, words: Mapping[str, str]
) -> _Picked:
    picks = [_pick(group, zone, ways, library, words) for group in template.machines]
    chosen = tuple(key for key in picks if key)
    blocked = tuple(g[0] for g, key in zip(template.machines, picks, strict=True) if key is None)
    picked = _Picked(chosen, blocked, None)
    opens = partial(_opens, zone=zone, ways=ways, library=library)
    return picked._replace(pace=_pace(template, picked, opens))


def _opens(key: str, *, zone: str, ways: Ways, library: Library) -> bool:
    return ways.route(zone, library.machines[key]) is not None


def _pick(
    group: Sequence[str], zone: str, ways: Ways, library: Library, words: Mapping[str, str]
) -> str | None:
    def gets_in(key: str) -> bool:
        if key == OVER_THE_HOUSE:
            return words.get(OVER_THE_HOUSE) == "yes"
        return ways.route(zone, library.machines[key]) is not None

    def at_hand(key: str) -> bool:
        owned = ways.yard.owned
        return not owned or key in owned or not library.machines[key].counted

    able = [key for key in group if gets_in(key)]
    return next((key for key in able if at_hand(key)), able[0] if able else None)


def _pace(
    template: Template,
    picked: _Picked,
    opens: Callable[[str], bool],
) -> Pace | None:
    """The pace of a machine chosen, else (where one is shut out) the first pace that can be kept."""
    own = [pace for pace in template.paces if pace.machine in picked.chosen]
    if own or not picked.blocked:
        return own[0] if own else None
    kept = [pace for pace in template.paces if not pace.machine or opens(pace.machine)]
    return kept[0] if kept else None


def _tread(template: Template, picked: _Picked, library: Library) -> Tread:
    """As heavy as the template says, by hand no heavier than a barrow, heavier with a loader.

    Mixers, saws and plates stand beside the work: they do not make it heavier.
    """
    own = min(template.tread, Tread.BARROW) if picked.blocked else template.tread
    treads = (library.machines[key].tread for key in picked.chosen)
    return max([own, *(tread for tread in treads if tread >= Tread.MACHINE)])


def _told(
    template: Template, zone: str, choice: _Picked, ways: Ways, library: Library
) -> tuple[Sentence, ...]:
    """Say what is done otherwise than usual: by hand for want of width, or with a machine on hire."""
    place = ways.yard.zone(zone).name
    told = []
    if choice.blocked:
        narrow = ways.widest(zone).narrowest
        values = {
            "work": template.name,
            "zone": place,
            "machine": library.machines[choice.blocked[0]].name,
            "passage": narrow.name if narrow else place,
        }
        told.append(Sentence("takeoff-by-hand", values))
    for key in choice.chosen:
        kind = library.machines[key]
        if ways.yard.owned and kind.counted and key not in ways.yard.owned:
            values = {"work": template.name, "zone": place, "machine": kind.name}
            told.append(Sentence("takeoff-hired", values))
    return tuple(told)
