"""What ties the works of a plan together: its links, and who is next on whatever is shared.

Each ``Step`` says that one event cannot come before another, and how far apart they must be, as a look-up
forward and back. Links give steps in any case; a plan gives more: the order in which it sends a
crew, a machine, a zone, a yard or a passage from one work to the next, and what treads on ground that
is kept free. A plan whose works all move within these steps keeps its crews and stays sound, but
for drives between far yards from one shift to another, which are left to the builder.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from itertools import pairwise, permutations
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.binds import Lookup
from jobs.trade.work import Lag, Relation

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from jobs.scheduling.binds import Bind
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import Crew, Keepout

EDGES = (Lookup(lambda slot: slot + 1), Lookup(lambda slot: slot - 1))


class Step(NamedTuple):
    """One event after another, and why.

    Attributes
    ----------
    forward, back
        Earliest event of ``after`` given the one of ``before``; latest the other way round.
    kind, what
        ``link``, ``at-most``, ``crew``, ``machine``, ``zone``, ``yard``, ``passage`` or
        ``ground``, and the id of the rule, crew, machine, place or job concerned.
    """

    before: int
    after: int
    from_finish: bool
    to_finish: bool
    forward: Lookup
    back: Lookup
    kind: str
    what: str


def link_steps(ready: Ready, crews: Sequence[str]) -> Iterator[Step]:
    """Yield the steps that links give if each work is done by its crew, at-mosts included."""
    for i, crew in enumerate(crews):
        for bind in ready.binds(i, crew):
            yield _forward(bind)
            if bind.latest is not None and bind.earliest_event is not None:
                yield Step(
                    bind.after,
                    bind.before,
                    bind.to_finish,
                    bind.from_finish,
                    bind.earliest_event,
                    bind.latest,
                    "at-most",
                    bind.tie.rule,
                )


def _forward(bind: Bind) -> Step:
    return Step(
        bind.before,
        bind.after,
        bind.from_finish,
        bind.to_finish,
        bind.earliest,
        bind.latest_event,
        "link",
        bind.tie.rule,
    )


def sharing_steps(ready: Ready, placed: Sequence[Placement]) -> Iterator[Step]:
    """Yield the steps that a plan gives by the order in which it shares things out."""
    yield from _crews(ready, placed)
    yield from _machines(placed)
    yield from _rooms(ready, placed)
    yield from _passages(ready, placed)
    yield from _grounds(ready, placed)


def _next(before: int, after: int, kind: str, what: str, waits: tuple[Lookup, Lookup]) -> Step:
    return Step(before, after, True, False, *waits, kind, what)  # noqa: FBT003 (fields of a tuple)


def _crews(ready: Ready, placed: Sequence[Placement]) -> Iterator[Step]:
    """A crew goes from one work to the next, at lunch or at night if it changes yards."""
    held: dict[tuple[str, str], list[int]] = defaultdict(list)
    for i, at in enumerate(placed):
        for crew in ready.works[i].held_by(at.crew):
            held[crew, ready.works[i].shift].append(i)
    moves: dict[tuple[str, bool], tuple[Lookup, Lookup]] = {}
    for (crew, _), works in held.items():
        for i, j in pairwise(_by_start(placed, works)):
            waits = EDGES
            if ready.works[i].job != ready.works[j].job and crew in ready.world.crews:
                far = not near(ready, i, j)
                if (crew, far) not in moves:
                    moves[crew, far] = _moves(ready, ready.world.crews[crew], far=far)
                waits = moves[crew, far]
            yield _next(i, j, "crew", crew, waits)


def _by_start(placed: Sequence[Placement], works: Iterable[int]) -> list[int]:
    return sorted(works, key=lambda i: (placed[i].start, placed[i].end, i))


def near(ready: Ready, i: int, j: int) -> bool:
    """Return True if a crew may go from one work to the other without losing a slot."""
    one, other = ready.world.jobs[ready.works[i].job], ready.world.jobs[ready.works[j].job]
    return one.id == other.id or (
        (one.near is None or other.id in one.near) and (other.near is None or one.id in other.near)
    )


def _moves(ready: Ready, crew: Crew, *, far: bool) -> tuple[Lookup, Lookup]:
    """First slot in another yard after a last one, and back again."""
    axis = ready.world.axis
    halves = [position.half for position in axis.positions]

    def forward(slot: int) -> int:
        day, position = divmod(slot, axis.per_day)
        later = range(position + 1, axis.per_day)
        if far:
            gaps = [p for p in later if crew.open >> (day * axis.per_day + p) & 1]
            later = range(gaps[0] + 1, axis.per_day) if gaps else range(0)
        found = next((p for p in later if halves[p] != halves[position]), axis.per_day)
        return day * axis.per_day + found

    ahead = Lookup(forward)
    slots = range(axis.size)
    return ahead, Lookup(lambda slot: bisect_right(slots, slot, key=ahead.__getitem__) - 1)


def _machines(placed: Sequence[Placement]) -> Iterator[Step]:
    held: dict[tuple[str, int], list[int]] = defaultdict(list)
    for i, at in enumerate(placed):
        for unit in at.machines:
            held[unit].append(i)
    for (name, _), works in held.items():
        for i, j in pairwise(_by_start(placed, works)):
            yield _next(i, j, "machine", name, EDGES)


def _rooms(ready: Ready, placed: Sequence[Placement]) -> Iterator[Step]:
    """Zones and yards have room for so many crews: each room is handed from work to work."""
    zones: dict[tuple[str, str], list[int]] = defaultdict(list)
    yards: dict[tuple[str, str], list[int]] = defaultdict(list)
    for i, work in enumerate(ready.works):
        if work.crews:
            yards[work.job, work.shift].append(i)
            if work.place:
                zones[work.place, work.shift].append(i)
    places, jobs = ready.world.places, ready.world.jobs
    for (name, _), works in zones.items():
        room = places[name].crews
        if room is not None:
            yield from _lanes(placed, works, room, ("zone", name))
    for (name, _), works in yards.items():
        yield from _lanes(placed, works, jobs[name].crews, ("yard", name))


def _lanes(
    placed: Sequence[Placement], works: Sequence[int], room: int, tag: tuple[str, str]
) -> Iterator[Step]:
    """Hand each place in a room on from a work to the one that comes next."""
    lanes: list[int] = []
    for j in _by_start(placed, works):
        free = [i for i in lanes if placed[i].end < placed[j].start]
        if len(lanes) >= room and free:
            i = max(free, key=lambda k: placed[k].end)
            lanes.remove(i)
            yield _next(i, j, *tag, EDGES)
        lanes.append(j)


def _passages(ready: Ready, placed: Sequence[Placement]) -> Iterator[Step]:
    """Works that haul one after the other through a way too narrow for all stay so."""
    hauling: dict[str, list[int]] = defaultdict(list)
    for i, work in enumerate(ready.works):
        for name in work.hauls:
            hauling[name].append(i)
    for name, works in hauling.items():
        room = ready.world.places[name].share
        if sum(ready.works[i].hauls[name] for i in works) > room:
            for j in works:
                for i in _just_before(placed, works, j):
                    yield _next(i, j, "passage", name, EDGES)
            yield from _turns(ready, placed, name, works)


def _turns(
    ready: Ready, placed: Sequence[Placement], name: str, works: Sequence[int]
) -> Iterator[Step]:
    """Works that haul by turns, each on days the other is off, cannot slip at all."""
    room = ready.world.places[name].share
    for i, j in permutations(works, 2):
        together = placed[i].start <= placed[j].end and placed[j].start <= placed[i].end
        if together and ready.works[i].hauls[name] + ready.works[j].hauls[name] > room:
            yield _next(i, j, "passage", name, _staying(placed[i].end))


def _staying(end: int) -> tuple[Lookup, Lookup]:
    """Bind nothing going forward, and hold the one before at its end going back."""

    def back(_slot: int) -> int:
        return end

    return Lookup(lambda _slot: 0), Lookup(back)


def _just_before(placed: Sequence[Placement], works: Sequence[int], j: int) -> list[int]:
    """Works that end before another begins, with no third one wholly between them."""
    ended = [i for i in works if placed[i].end < placed[j].start]
    latest = max((placed[i].start for i in ended), default=0)
    return [i for i in ended if placed[i].end >= latest]


def _grounds(ready: Ready, placed: Sequence[Placement]) -> Iterator[Step]:
    """Ground at rest: who trod it before still treads it before, who came after comes after."""
    treading: dict[str, list[int]] = defaultdict(list)
    for i, work in enumerate(ready.works):
        for place in work.treads:
            treading[place].append(i)
    for i, work in enumerate(ready.works):
        for keepout in work.keepouts:
            for j in treading[keepout.place]:
                if j != i and kept_out(ready, j, keepout):
                    yield _ground(ready, placed, (i, j), keepout)


def kept_out(ready: Ready, i: int, keepout: Keepout) -> bool:
    """Return True if a work must keep off while the ground rests."""
    work = ready.works[i]
    return work.treads[keepout.place] >= keepout.keeps_out and work.id not in keepout.exempt


def _ground(
    ready: Ready, placed: Sequence[Placement], pair: tuple[int, int], keepout: Keepout
) -> Step:
    i, j = pair
    owner, other = ready.works[i], ready.works[j]
    rest = Lag(keepout.minutes)
    ahead, back, _, _ = ready.lookups(owner, other, rest, Relation.FINISH_START)
    if placed[j].start >= ahead[placed[i].end]:
        return _next(i, j, "ground", keepout.place, (ahead, back))
    ahead, back, _, _ = ready.lookups(other, owner, Lag(), Relation.FINISH_FINISH)
    return Step(j, i, True, True, ahead, back, "ground", keepout.place)  # noqa: FBT003 (fields)
