"""The judge's checks on works that share something: a crew, a machine, a zone, a yard, a way in.

Works of different shifts never meet: an evening work may stand on a day inside a day work that lasts
longer. Only machines stay held through everything between the first slot and the last.
What has begun is fact, so a clash counts only if at least one of the works has not begun.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

from jobs.trade.work import Sentence

from .case import Breach

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from .case import Case

A = TypeVar("A")
B = TypeVar("B")


def check_sharing(case: Case) -> Iterator[Breach]:
    """Everything that can be wrong between works that use the same thing at once."""
    yield from _crew_twice(case)
    yield from _machine_twice(case)
    yield from _zones(case)
    yield from _yards(case)
    yield from _passages(case)
    yield from _halves(case)
    yield from _drives(case)


def _crew_twice(case: Case) -> Iterator[Breach]:
    """A crew does one thing at a time, lent or not, and is held by it to its last slot."""
    held = _group(
        (crew, work.shift, work.id) for work, _ in case.works() for crew in case.held_crews(work.id)
    )
    for (crew, _), works in held.items():
        for together in _crowds(case, works, most=1):
            yield _clash(case, "crew-twice", together, case.crew_name(crew))


def _machine_twice(case: Case) -> Iterator[Breach]:
    """A machine is in one place at a time, nights and days off included."""
    held = _group((*unit, work.id) for work, at in case.works() for unit in set(at.machines))
    for (name, unit), works in held.items():
        if case.owned(name, unit):
            for together in _crowds(case, works, most=1):
                yield _clash(case, "machine-twice", together, case.world.machines[name].name)


def _zones(case: Case) -> Iterator[Breach]:
    """A zone takes so many crews at once and no more."""
    held = _group((work.place, work.shift, work.id) for work, _ in case.works() if work.crews)
    for (name, _), works in held.items():
        zone = case.world.places.get(name)
        if zone is not None and zone.crews is not None:
            for together in _crowds(case, works, most=zone.crews):
                yield _clash(case, "zone-full", together, zone.name, most=zone.crews)


def _yards(case: Case) -> Iterator[Breach]:
    """A whole yard takes so many crews at once and no more."""
    held = _group((work.job, work.shift, work.id) for work, _ in case.works() if work.crews)
    for (name, _), works in held.items():
        job = case.world.jobs[name]
        for together in _crowds(case, works, most=job.crews):
            yield _clash(case, "yard-full", together, job.name, most=job.crews)


def _passages(case: Case) -> Iterator[Breach]:
    """What is hauled through a way in within one slot fits into that slot."""
    carried: dict[tuple[str, int], list[str]] = defaultdict(list)
    for work, _ in case.works():
        for name in work.hauls:
            for slot in case.worked[work.id]:
                carried[name, slot].append(work.id)
    told: set[tuple[str, ...]] = set()
    for (name, _), works in sorted(carried.items()):
        way, together = case.world.places[name], (name, *works)
        share = sum(case.world.works[w].hauls[name] for w in works)
        if share > way.share and together not in told and not case.all_started(works):
            told.add(together)
            yield _clash(case, "passage-full", tuple(works), way.name, share=share, most=way.share)


def _halves(case: Case) -> Iterator[Breach]:
    """A crew changes from one yard to another only between the halves of a day."""
    for crew, visits in _visits(case).items():
        halves = _group((day, half, work) for day, half, _, work in visits)
        for works in halves.values():
            together = tuple(dict.fromkeys(works))
            if len({case.job(w).id for w in together}) > 1 and not case.all_started(together):
                yield _clash(case, "half-day", together, case.crew_name(crew))


def _drives(case: Case) -> Iterator[Breach]:
    """Between two yards that are far from each other a crew loses a slot to the drive."""
    for crew, visits in _visits(case).items():
        people = case.world.crews[crew]
        for (day, _, last, a), (next_day, _, first, b) in pairwise(visits):
            if day != next_day or _near(case, a, b) or case.all_started((a, b)):
                continue
            if not any(people.open >> slot & 1 for slot in range(last + 1, first)):
                yield _clash(case, "drive", (a, b), people.name)


def _visits(case: Case) -> dict[str, list[tuple[int, int, int, str]]]:
    """By crew: day, half, slot and work of every slot it works in, in order of time."""
    visits: dict[str, list[tuple[int, int, int, str]]] = defaultdict(list)
    for work, _ in case.works():
        axis = case.axis(work.id)
        for crew in case.held_crews(work.id):
            for slot in case.worked[work.id] if crew in case.world.crews else ():
                day, position = divmod(slot, axis.per_day)
                visits[crew].append((day, axis.positions[position].half, slot, work.id))
    return {crew: sorted(found, key=lambda visit: visit[2:]) for crew, found in visits.items()}


def _near(case: Case, a: str, b: str) -> bool:
    """Return True if a crew may go from one work to the other without losing a slot."""
    one, other = case.job(a), case.job(b)
    return one.id == other.id or all(
        job.near is None or there.id in job.near for job, there in ((one, other), (other, one))
    )


def _group(rows: Iterable[tuple[A, B, str]]) -> dict[tuple[A, B], list[str]]:
    """Gather the last column of some rows by their first two."""
    groups: dict[tuple[A, B], list[str]] = defaultdict(list)
    for a, b, work in rows:
        groups[a, b].append(work)
    return groups


def _crowds(case: Case, works: Iterable[str], *, most: int) -> Iterator[tuple[str, ...]]:
    """Yield works that are under way together, more than ``most`` of them, as each one begins."""
    under_way: list[str] = []
    for work in sorted(works, key=lambda w: (case.placed[w].start, w)):
        begin = case.placed[work].start
        under_way = [w for w in under_way if case.placed[w].end >= begin]
        under_way.append(work)
        if len(under_way) > most and not case.all_started(under_way):
            yield tuple(under_way)


def _clash(case: Case, kind: str, works: tuple[str, ...], what: str, **values: str | int) -> Breach:
    """A breach between works, told at the begin of the last of them to begin."""
    latest = max(works, key=lambda w: case.placed[w].start)
    names = " + ".join(map(case.name, works))
    when = case.say(latest, case.begins(latest))
    values = {"what": what, "works": names, "when": when, **values}
    return Breach(kind, works, Sentence(f"judge-{kind}", values))
