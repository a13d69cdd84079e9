"""Why not sooner? What binds the start of a placed work, and what would bind it next.

Every cause is asked for the first start it would allow by itself; the latest of these binds. If the work
still starts later than that, a closed day or the length of the day is looked for in between.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.trade.work import Sentence

from .causes_links import hasty_causes, link_causes, own_causes
from .causes_shared import shared_causes
from .reading import Cause, Reading
from .ready import Ready

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .result import Plan
    from .world import World

WORKDAYS = 5


@dataclass(frozen=True, slots=True)
class Reason:
    """What binds a start, and what would bind it next if that were gone; None if nothing would."""

    binding: Sentence
    next: Sentence | None = None


class Reasons:
    """All reasons of one plan; make it once to ask for many works."""

    def __init__(self, world: World, plan: Plan) -> None:
        ready = Ready(world)
        self._reading = Reading(ready, [plan[work.id] for work in ready.works])

    def why_not_sooner(self, work: str) -> Reason:
        """Return what holds a work where it stands."""
        reading = self._reading
        i = reading.ready.number[work]
        if i in reading.ready.fixed:
            since = reading.day(i, reading.placed[i].start)
            return Reason(Sentence("explain-begun", {"work": reading.name(i), "since": since}))
        start = reading.placed[i].start
        found = [*link_causes(reading, i), *hasty_causes(reading, i)]
        found += [*shared_causes(reading, i), *own_causes(reading, i)]
        found = [cause for cause in found if cause.start <= start]
        found.sort(key=lambda cause: -cause.start)
        if not found or found[0].start < start or found[0].bound < start:
            found = [*_between(reading, i, found), *found]
        told = [_told(reading, i, cause.sentence, cause.start) for cause in found[:2]]
        if len(told) > 1 and found[0].sentence.key.startswith("explain-closed"):
            told[1] = _told(reading, i, found[1].sentence, _usual_from(reading, i, found[1].bound))
        return Reason(told[0], told[1] if len(told) > 1 else None)


def why_not_sooner(world: World, plan: Plan, work_id: str) -> Reason:
    """Return what binds the start of a work, and what would bind next if that were gone.

    Parameters
    ----------
    plan
        A sound plan of the world.

    Returns
    -------
    Reason
        Two sentences, or one if nothing else would bind.
    """
    return Reasons(world, plan).why_not_sooner(work_id)


def _told(reading: Reading, i: int, sentence: Sentence, slot: int) -> Sentence:
    """Add the day that a cause allows to its sentence."""
    return Sentence(sentence.key, {**sentence.values, "date": reading.day(i, slot)})


def _usual_from(reading: Reading, i: int, bound: int) -> int:
    """First slot from one on in which such work is usually done, whoever is off."""
    slots = range(bound, reading.placed[i].start)
    return next((slot for slot in slots if _usual(reading, i, slot)), reading.placed[i].start)


def _usual(reading: Reading, i: int, slot: int) -> bool:
    """Return True for a slot of the work's shift, Monday to Friday."""
    work = reading.ready.works[i]
    axis = reading.ready.axis(work)
    right = axis.positions[slot % axis.per_day].shift is work.shift
    return right and axis.day(slot).weekday() < WORKDAYS


def _between(reading: Reading, i: int, found: list[Cause]) -> Iterator[Cause]:
    """Yield what keeps a work waiting after all other causes are gone, if it is more than a night."""
    start = reading.placed[i].start
    bound = max((cause.bound for cause in found), default=0)
    closed = _closed(reading, i, bound)
    if closed is not None:
        yield Cause(start, start, closed)
    elif reading.fit(i, bound, one_go=False) < start == reading.fit(i, bound):
        day = reading.day(i, reading.fit(i, bound, one_go=False))
        yield Cause(start, start, _sentence(reading, i, "one-go", day=day))
    elif not found or found[0].start < start:
        yield Cause(start, start, _held_by_plan(reading, i, found))


def _closed(reading: Reading, i: int, bound: int) -> Sentence | None:
    """Say who is off in the last usual slot before a work starts; None if there is none."""
    slots = range(reading.placed[i].start - 1, bound - 1, -1)
    slot = next((slot for slot in slots if _usual(reading, i, slot)), None)
    if slot is None:
        return None
    found = next(_off(reading, i, slot), None)
    if found is None:
        return None
    key, values = found
    day = reading.day(i, slot)
    return _sentence(reading, i, f"closed-{key}", day=day, **values)


def _off(reading: Reading, i: int, slot: int) -> Iterator[tuple[str, dict[str, str]]]:
    """Who or what is off in a slot, with its name."""
    world, work, at = reading.ready.world, reading.ready.works[i], reading.placed[i]
    yard, crew = world.jobs[work.job], world.crews.get(at.crew)
    if not yard.open >> slot & 1:
        yield "yard", {"job": yard.name}
    if crew is not None and not crew.open >> slot & 1:
        yield "crew", {"crew": crew.name}
    if crew is not None and work.short.get(crew.id, 0) >> slot & 1:
        yield "short", {"crew": crew.name}
    for name, unit in at.machines:
        if not world.machines[name].open[unit] >> slot & 1:
            yield "machine", {"machine": world.machines[name].name}
    if work.window is not None and not work.window >> slot & 1:
        yield "window", {}


def _held_by_plan(reading: Reading, i: int, found: list[Cause]) -> Sentence:
    """Say that nothing binds: a request not needed sooner, or room left by the plan."""
    ready = reading.ready
    after = min(ready.after[i], key=lambda j: reading.placed[j].start, default=None)
    if ready.works[i].request and after is not None:
        stands = reading.day(after, reading.placed[after].start)
        return _sentence(reading, i, "request", after=reading.name(after), stands=stands)
    soonest = found[0].start if found else reading.fit(i, ready.world.now)
    return _sentence(reading, i, "spare", soonest=reading.day(i, soonest))


def _sentence(reading: Reading, i: int, key: str, **values: str) -> Sentence:
    return Sentence(f"explain-{key}", {"work": reading.name(i), **values})
