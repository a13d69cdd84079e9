"""Which machine gets to a zone, by which way in, and what to do where none gets through."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from .scope import STREET
from .ways_in import Load, can_reach, in_the_way, machine_load, way_in, yard_graph
from .work import Need, Sentence, Tread

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from decimal import Decimal

    from .library import Library
    from .scope import PassageIn, Yard
    from .templates import MachineKind, Pace, Template

OVER_THE_HOUSE = "crane"
"""The machine that lifts over everything, and the word of the yard that says it is booked."""
ANYTHING = Load("anything", 0, rolls=False)


@dataclass(frozen=True, slots=True)
class Route:
    """The passages from the street to a zone, in order, and the zones they lead through."""

    passages: tuple[PassageIn, ...] = ()
    zones: tuple[str, ...] = ()
    """Zones passed on the way, the zone reached not included."""


class Ways:
    """The ways in of a yard, asked for again and again while it is expanded."""

    def __init__(self, yard: Yard) -> None:
        self.yard = yard
        self.graph = yard_graph(yard.zones, yard.passages)
        self._known: dict[tuple[str, str], Route | None] = {}
        self._round: dict[tuple[str, str, str], bool] = {}

    def route(self, zone: str, kind: MachineKind | None = None) -> Route | None:
        """Return the shortest way in that a machine passes, None if there is none.

        A zone nobody drew a way to is open to the street.
        """
        asked = (zone, kind.key if kind else "")
        if asked not in self._known:
            found = way_in(self.graph, zone, machine_load(kind) if kind else None)
            self._known[asked] = None if found is None else _route(found, zone)
        return self._known[asked]

    def way_round(self, zone: str, shut: str, kind: MachineKind | None) -> bool:
        """Return True if a machine (anything, for None) gets to a zone without crossing another."""
        asked = (zone, shut, kind.key if kind else "")
        if asked not in self._round:
            load = machine_load(kind) if kind else ANYTHING
            self._round[asked] = can_reach(self.graph, zone, load, {shut})
        return self._round[asked]

    def lets_in(self, zone: str, load: Load) -> bool:
        """Return True if a load gets from the street to a zone."""
        return can_reach(self.graph, zone, load)

    def in_the_way(self, zone: str, load: Load) -> tuple[Sentence, ...]:
        """Return what keeps a load from a zone, nothing if it gets there."""
        return in_the_way(self.graph, zone, load)

    def stopped_at(self, zone: str, load: Load) -> str:
        """Return the name of the first passage that stops a load, or of the zone if none does."""
        for sentence in self.in_the_way(zone, load):
            return str(sentence.values["passage"])
        return self.yard.zone(zone).name


def _route(passages: tuple[PassageIn, ...], zone: str) -> Route:
    """Follow the passages inward from the street and note the zones they lead through."""
    here, crossed = STREET, []
    for passage in passages:
        here = passage.end if passage.start == here else passage.start
        crossed.append(here)
    return Route(passages, tuple(uid for uid in crossed if uid != zone))


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


def _way_taken(picked: _Picked, zone: str, ways: Ways, route: Route | None) -> Route:
    """What a crane lifts over the house crosses no zone and uses no passage."""
    if OVER_THE_HOUSE in picked.chosen:
        return Route()
    return route or ways.route(zone) or Route()


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
        route=_way_taken(picked, zone, ways, route),
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
        kind = library.machines[choice.blocked[0]]
        values = {
            "work": template.name,
            "zone": place,
            "machine": kind.name,
            "passage": ways.stopped_at(zone, machine_load(kind)),
        }
        told.append(Sentence("takeoff-by-hand", values))
    for key in choice.chosen:
        kind = library.machines[key]
        if ways.yard.owned and kind.counted and key not in ways.yard.owned:
            values = {"work": template.name, "zone": place, "machine": kind.name}
            told.append(Sentence("takeoff-hired", values))
    return tuple(told)
