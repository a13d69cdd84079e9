"""Why not sooner? What binds the start of a placed work, and what would bind it next.

Every cause is asked for the first start it would allow by itself, and then taken away: what binds is what the
work could start sooner without, everything else left where it is. If several bind at once, the one named next
is the other one. If nothing binds, a closed day or the length of the day is looked for in between; if the
work could start sooner as it is, it is said that the plan has left room.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.scheduling.ready import Ready
from jobs.trade.work import Sentence

from .causes_links import hasty_causes, link_causes, own_causes
from .causes_shared import shared_causes
from .reading import NOTHING, Away, Cause, Reading
from .trying import Trial

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import World

WORKDAYS = 5


@dataclass(frozen=True, slots=True)
class Reason:
    """What binds a start, and what would bind it next if that were gone; None if nothing would.

    Attributes
    ----------
    away
        What would have to be gone; empty for a closed day, the present, and room left by the plan.
    sooner
        First start without it, everything else where it is; None where that cannot be tried.
    behind
        What holds it besides a closed day or the present, and would have to be gone first or also.
    """

    binding: Sentence
    next: Sentence | None = None
    away: Away = NOTHING
    sooner: int | None = None
    behind: Away = NOTHING


class Reasons:
    """All reasons of one plan; make it once to ask for many works."""

    def __init__(self, world: World, plan: Plan) -> None:
        ready = Ready(world)
        placed = [plan[work.id] for work in ready.works]
        self._reading, self._trial = Reading(ready, placed), Trial(ready, placed)

    def why_not_sooner(self, work: str) -> Reason:
        """Return what holds a work where it stands."""
        reading = self._reading
        i = reading.ready.number[work]
        if i in reading.ready.fixed:
            since = reading.day(i, reading.placed[i].start)
            return Reason(Sentence("explain-begun", {"work": reading.name(i), "since": since}))
        start = reading.placed[i].start
        soonest = self._soonest(i)
        if soonest < start:
            return self._left_room(i, soonest)
        cause = self._binding(i, start)
        first = _told(reading, i, cause.sentence, start)
        if cause.away == NOTHING:
            following, behind = self._after_closed(i, cause)
            return Reason(first, following, behind=behind)
        sooner = self._soonest(i, (cause.away,))
        if sooner <= reading.ready.world.now and sooner < start:
            limit = reading.when(i, reading.ready.world.now)
            after = reading.cause(i, sooner, "now", limit=limit)
        else:
            after = self._binding(i, sooner, (cause.away,))
        return Reason(first, _told(reading, i, after.sentence, sooner), cause.away, sooner)

    def _soonest(self, i: int, gone: Sequence[Away] = ()) -> int:
        """First start of a work with something gone; where it stands if that cannot be tried."""
        if not self._trial.fits:
            return self._reading.placed[i].start
        return self._trial.soonest(i, gone)

    def _causes(self, i: int, gone: Sequence[Away]) -> list[Cause]:
        """All causes but what is gone, the one that holds longest first."""
        reading = self._reading
        reading.gone = frozenset(it.work for it in gone if it.work is not None)
        found = [*link_causes(reading, i), *hasty_causes(reading, i)]
        found += [*shared_causes(reading, i), *own_causes(reading, i)]
        reading.gone = frozenset()
        return sorted((c for c in found if c.away not in gone), key=lambda cause: -cause.start)

    def _binding(self, i: int, start: int, gone: Sequence[Away] = ()) -> Cause:
        """What holds a work at a start: a closed day, what it could start sooner without, what holds longest."""
        found = [cause for cause in self._causes(i, gone) if cause.start <= start]
        if not found or found[0].start < start or found[0].bound < start:
            between = next(_between(self._reading, i, start, found), None)
            if between is not None:
                return between
        for cause in found:
            if cause.away != NOTHING and self._soonest(i, (*gone, cause.away)) < start:
                return cause
        return found[0]

    def _after_closed(self, i: int, cause: Cause) -> tuple[Sentence | None, Away]:
        """What would hold a work that a closed day, or the present, holds."""
        reading = self._reading
        found = [c for c in self._causes(i, ()) if c.start <= cause.start and c != cause]
        if not found:
            return None, NOTHING
        slot = found[0].start
        if cause.sentence.key.startswith("explain-closed"):
            slot = _usual_from(reading, i, found[0].bound)
        return _told(reading, i, found[0].sentence, slot), found[0].away

    def _left_room(self, i: int, soonest: int) -> Reason:
        """The work could start sooner as it is: it is not needed sooner, or the plan has left room."""
        reading = self._reading
        sentence = _held_by_plan(reading, i, soonest)
        binding = _told(reading, i, sentence, reading.placed[i].start)
        after = self._binding(i, soonest)
        return Reason(binding, _told(reading, i, after.sentence, soonest), NOTHING, soonest)


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


def _between(reading: Reading, i: int, start: int, found: list[Cause]) -> Iterator[Cause]:
    """Yield what keeps a work waiting after all other causes are gone, if it is more than a night."""
    bound = max((cause.bound for cause in found), default=0)
    closed = _closed(reading, i, start, bound)
    if closed is not None:
        yield Cause(start, start, closed)
    elif reading.fit(i, bound, one_go=False) < start == reading.fit(i, bound):
        day = reading.day(i, reading.fit(i, bound, one_go=False))
        yield Cause(start, start, _sentence(reading, i, "one-go", day=day))
    elif not found:
        yield Cause(start, start, _held_by_plan(reading, i, start))


def _closed(reading: Reading, i: int, start: int, bound: int) -> Sentence | None:
    """Say who is off in the last usual slot before a work starts; None if there is none."""
    slots = range(start - 1, bound - 1, -1)
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
    for held in work.held_by(at.crew):
        if held in world.crews and not world.crews[held].open >> slot & 1:
            yield "crew", {"crew": world.crews[held].name}
    if crew is not None and work.short.get(crew.id, 0) >> slot & 1:
        yield "short", {"crew": crew.name}
    for name, unit in at.machines:
        if not world.machines[name].open[unit] >> slot & 1:
            yield "machine", {"machine": world.machines[name].name}
    if work.window is not None and not work.window >> slot & 1:
        yield "window", {}


def _held_by_plan(reading: Reading, i: int, soonest: int) -> Sentence:
    """Say that nothing binds: a request not needed sooner, or room left by the plan."""
    ready = reading.ready
    after = min(ready.after[i], key=lambda j: reading.placed[j].start, default=None)
    if ready.works[i].request and after is not None:
        stands = reading.day(after, reading.placed[after].start)
        return _sentence(reading, i, "request", after=reading.name(after), stands=stands)
    return _sentence(reading, i, "spare", soonest=reading.day(i, soonest))


def _sentence(reading: Reading, i: int, key: str, **values: str) -> Sentence:
    return Sentence(f"explain-{key}", {"work": reading.name(i), **values})
