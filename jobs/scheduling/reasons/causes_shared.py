"""What holds a work back because others hold it first: crew, machine, room, way and ground."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from jobs.scheduling.paths.web import kept_out, near
from jobs.trade.work import Lag, Relation

from .reading import Away

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from jobs.scheduling.world import Keepout

    from .reading import Cause, Reading

Held = tuple[int, str, int, dict[str, str]]
"""First slot free again, key of the sentence, the work that holds it, and values besides its name and end."""


def shared_causes(reading: Reading, i: int) -> Iterator[Cause]:
    """Of each thing shared, the work that holds it longest."""
    for causes in (_crew, _machines, _yard, _zone, _ways, _rests):
        yield from _longest(reading, i, causes(reading, i))
    yield from _treads(reading, i)


def _longest(reading: Reading, i: int, causes: Iterable[Held]) -> Iterator[Cause]:
    found = max(causes, key=lambda cause: cause[0], default=None)
    if found is not None:
        bound, key, holder, values = found
        values = {**reading.until(holder), **values}
        yield reading.cause(i, bound, key, Away(holder), **values)


def _crew(reading: Reading, i: int) -> Iterator[Held]:
    """The crew, or the one lent, is on something else, or in another yard for this half of the day."""
    for crew in reading.ready.works[i].held_by(reading.placed[i].crew):
        yield from _busy(reading, i, crew)


def _busy(reading: Reading, i: int, crew: str) -> Iterator[Held]:
    ready = reading.ready
    people = ready.world.crews.get(crew)
    if people is None:
        return
    one = ready.works[i]
    for j in reading.holders(i, ("crew", crew)):
        other, last = ready.works[j], _last_before(reading, j, reading.placed[i].start)
        if last < 0:
            continue
        values = {"crew": people.name}
        if one.job != other.job:
            bound = _half_after(reading, last) + (not near(ready, i, j))
            yield bound, "crew-yard", j, {**values, "job": ready.world.jobs[other.job].name}
        elif one.shift is other.shift:
            yield reading.end(j) + 1, "crew", j, values


def _last_before(reading: Reading, j: int, slot: int) -> int:
    """Last slot before another in which a work is done; -1 if there is none."""
    return (reading.worked(j) & ((1 << slot) - 1)).bit_length() - 1


def _half_after(reading: Reading, slot: int) -> int:
    """First slot of the next half of the day."""
    axis = reading.ready.axis(reading.ready.works[0])
    day, position = divmod(slot, axis.per_day)
    halves = [it.half for it in axis.positions]
    later = range(position + 1, axis.per_day)
    found = next((p for p in later if halves[p] != halves[position]), axis.per_day)
    return day * axis.per_day + found


def _machines(reading: Reading, i: int) -> Iterator[Held]:
    """A machine is free once as many of its units are as the work needs."""
    for name, units in reading.ready.works[i].machines.items():
        machine = reading.ready.world.machines[name]
        lasts = []
        for unit in range(len(machine.open)):
            works = reading.before(i, ("unit", name, str(unit)))
            lasts.append(max(works, key=reading.end, default=-1))
        lasts.sort(key=lambda j: -1 if j < 0 else reading.end(j))
        last = lasts[min(units, len(lasts)) - 1]
        if last >= 0:
            yield reading.end(last) + 1, *_taken(reading, i, last, machine.name)


def _taken(reading: Reading, i: int, j: int, machine: str) -> tuple[str, int, dict[str, str]]:
    """Sentence of a machine that a work has, the work, and values; in another yard it names the yard."""
    one, other = reading.ready.works[i], reading.ready.works[j]
    if one.job == other.job:
        return "machine", j, {"machine": machine}
    yard = reading.ready.world.jobs[other.job].name
    return "machine-yard", j, {"machine": machine, "job": yard}


def _yard(reading: Reading, i: int) -> Iterator[Held]:
    """The whole yard has all the crews it has room for."""
    work = reading.ready.works[i]
    job = reading.ready.world.jobs[work.job]
    if work.crews:
        yield from _room(reading, i, ("yard", job.id, work.shift), job.crews, job.name)


def _zone(reading: Reading, i: int) -> Iterator[Held]:
    """The zone has all the crews it has room for."""
    work = reading.ready.works[i]
    place = reading.ready.world.places.get(work.place)
    if work.crews and place is not None and place.crews is not None:
        yield from _room(reading, i, ("zone", place.id, work.shift), place.crews, place.name)


def _room(reading: Reading, i: int, key: tuple[str, ...], room: int, name: str) -> Iterator[Held]:
    for j in reading.before(i, key):
        if len(reading.during(i, key, reading.end(j))) >= room:
            yield reading.end(j) + 1, key[0], j, {"place": name}


def _ways(reading: Reading, i: int) -> Iterator[Held]:
    """A passage is taken up by what others haul, slot by slot worked."""
    works, start = reading.ready.works, reading.placed[i].start
    for name, share in works[i].hauls.items():
        way = reading.ready.world.places[name]
        hauling = {j: reading.worked(j) for j in reading.holders(i, ("way", name))}
        for j in hauling:
            slot = _last_before(reading, j, start)
            load = sum(
                works[k].hauls[name] for k, bits in hauling.items() if bits >> max(slot, 0) & 1
            )
            if slot >= 0 and load + share > way.share:
                yield slot + 1, "way", j, {"place": way.name}


def _rests(reading: Reading, i: int) -> Iterator[Held]:
    """Ground is kept free after others."""
    work = reading.ready.works[i]
    for place in work.treads:
        for j in reading.before(i, ("rest", place)):
            for rest in reading.ready.works[j].keepouts:
                if rest.place == place and kept_out(reading.ready, i, rest):
                    yield _rest(reading, (j, i), rest)


def _rest(reading: Reading, pair: tuple[int, int], rest: Keepout) -> Held:
    ready, (j, i) = reading.ready, pair
    owner, work = ready.works[j], ready.works[i]
    end = reading.end(j)
    bound = ready.lookups(owner, work, Lag(rest.minutes), Relation.FINISH_START)[0][end]
    axis = ready.axis(work)
    until = axis.ends(max(end, 0)) + timedelta(minutes=rest.minutes)
    values = {
        "place": ready.world.places[rest.place].name,
        "owner": owner.name,
        "until": until.astimezone(axis.zone).isoformat(),
    }
    return bound, "ground", j, values


def _treads(reading: Reading, i: int) -> Iterator[Cause]:
    """Ground that is to rest after this work must be clear of others when it ends."""
    for rest in reading.ready.works[i].keepouts:
        for j in reading.holders(i, ("tread", rest.place)):
            end = reading.end(j)
            if end <= reading.end(i) and kept_out(reading.ready, j, rest):
                name = reading.ready.world.places[rest.place].name
                start = reading.fit(i, 0, end)
                told = reading.cause(i, 0, "tread", Away(j), place=name, **reading.until(j))
                yield told._replace(bound=start, start=start)
