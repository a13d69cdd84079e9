"""How much a new plan upsets an old one: crew-days changed, and the six lines ways out are compared on."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from .calendars import worked_slots
from .compare import Finish, Move, compare_plans

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date

    from .result import Placement, Plan
    from .world import World

COUNTED_DAYS = 15
"""Working days after the last lost day in which changed crew-days count."""
SATURDAY = 5

CrewDay = tuple[str, int]
Tours = dict[CrewDay, set[str]]


class Extended(NamedTuple):
    """A rented machine kept longer in a yard than before, calendar days."""

    machine: str
    job: str
    days: int


@dataclass(frozen=True, slots=True)
class Lines:
    """The six lines but money, which is told by who knows the prices.

    Attributes
    ----------
    finishes
        By job id, last counted slot before and after.
    at_risk
        Jobs whose promise is not kept.
    crew_days
        Crews and days after the last lost one, within 15 working days, on which the set of jobs
        a crew works for differs.
    saturdays
        Crews and Saturdays worked.
    rentals
        Rented machines kept longer.
    """

    finishes: Mapping[str, Finish]
    at_risk: tuple[str, ...]
    crew_days: tuple[tuple[str, date], ...]
    saturdays: tuple[tuple[str, date], ...]
    rentals: tuple[Extended, ...]


def counted_days(world: World, after: int) -> frozenset[int]:
    """Return the days (numbers on the axis) in which changes count: working days after a day."""
    axis = world.axis
    anybody = world.anybody
    day_bits, found = (1 << axis.per_day) - 1, []
    for day in range(max(after + 1, 0), axis.days):
        if anybody >> day * axis.per_day & day_bits:
            found.append(day)
        if len(found) == COUNTED_DAYS:
            break
    if not found:
        return frozenset()
    return frozenset(range(found[0], found[-1] + 1))


def tours(world: World, placed: Mapping[str, Placement]) -> Tours:
    """Return the jobs each crew works for on each day (its number on the axis)."""
    found: Tours = defaultdict(set)
    per_day = world.axis.per_day
    for name, at in placed.items():
        if at.crew and name in world.works and at.crew in world.crews:
            work = world.works[name]
            for slot in worked_slots(world, work, at):
                for crew in work.held_by(at.crew):
                    found[crew, slot // per_day].add(work.job)
    return found


def changed(old: Tours, new: Tours, days: frozenset[int]) -> list[CrewDay]:
    """Return the crew-days among some days on which the set of jobs differs, by day."""
    keys = {key for key in old.keys() | new.keys() if key[1] in days}
    differ = [key for key in keys if old.get(key, set()) != new.get(key, set())]
    return sorted(differ, key=lambda key: (key[1], key[0]))


def six_lines(
    world: World,
    before: World,
    old: Mapping[str, Placement],
    new: Plan,
    *,
    last_lost: int,
    rented: frozenset[str] = frozenset(),
) -> Lines:
    """Compare a new plan with the published one.

    Parameters
    ----------
    before
        The world without what was lost, in which the old plan stood.
    last_lost
        Number on the axis of the last day lost; changes count after it.
    rented
        Machines that are rented.
    """
    axis = world.axis
    placed = {name: new[name] for name in world.works}
    after = tours(world, placed)
    differ = changed(tours(before, old), after, counted_days(before, last_lost))
    compared = compare_plans(world, old, new)
    return Lines(
        finishes=compared.finishes,
        at_risk=compared.at_risk,
        crew_days=tuple((crew, axis.day(day * axis.per_day)) for crew, day in differ),
        saturdays=tuple(_saturdays(world, after)),
        rentals=tuple(_extended(world, old, placed, rented)),
    )


def elsewhere(world: World, old: Mapping[str, Placement], new: Plan) -> list[Move]:
    """Return the works with other slots or another crew than before, in order of their old start."""
    moved = [
        Move(name, old[name], new[name])
        for name in world.works
        if name in old and old[name][:3] != new[name][:3]
    ]
    return sorted(moved, key=lambda move: (move.old.start, move.work))


def _saturdays(world: World, worked: Tours) -> Iterator[tuple[str, date]]:
    axis = world.axis
    for crew, day in sorted(worked, key=lambda key: (key[1], key[0])):
        date = axis.day(day * axis.per_day)
        if date.weekday() == SATURDAY and day * axis.per_day >= world.now:
            yield crew, date


def _extended(
    world: World,
    old: Mapping[str, Placement],
    new: Mapping[str, Placement],
    rented: frozenset[str],
) -> Iterator[Extended]:
    """A hire runs from the first to the last day a machine is held in a yard."""
    was, becomes = _hires(world, old, rented), _hires(world, new, rented)
    for (machine, job), days in sorted(becomes.items()):
        more = days - was.get((machine, job), 0)
        if more > 0 and (machine, job) in was:
            yield Extended(machine, job, more)


def _hires(
    world: World, placed: Mapping[str, Placement], rented: frozenset[str]
) -> dict[tuple[str, str], int]:
    per_day = world.axis.per_day
    spans: dict[tuple[str, str], tuple[int, int]] = {}
    for name, at in placed.items():
        for machine in {kind for kind, _ in at.machines} & rented if name in world.works else ():
            key = machine, world.works[name].job
            first, last = at.start // per_day, at.end // per_day
            low, high = spans.get(key, (first, last))
            spans[key] = min(low, first), max(high, last)
    return {key: high - low + 1 for key, (low, high) in spans.items()}
