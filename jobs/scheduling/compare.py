"""What a new plan changes: finishes, promises, crews' days, and which works move."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from .calendars import worked_slots

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from .result import Placement, Plan
    from .world import World


class Finish(NamedTuple):
    """Last counted slot of a job before and after; None where it has none."""

    old: int | None
    new: int | None


class Move(NamedTuple):
    """A work placed otherwise than before: other slots, crew or machines."""

    work: str
    old: Placement
    new: Placement


@dataclass(frozen=True, slots=True)
class Comparison:
    """An old and a new plan side by side.

    Attributes
    ----------
    finishes
        By job id.
    at_risk
        Jobs whose promise the new plan does not keep.
    crew_days
        Crews and days on which the set of jobs a crew works for differs, by day.
    moved, added, removed
        Works placed otherwise, and ids of works only in the new or only in the old plan.
    """

    finishes: Mapping[str, Finish]
    at_risk: tuple[str, ...]
    crew_days: tuple[tuple[str, date], ...]
    moved: tuple[Move, ...]
    added: tuple[str, ...]
    removed: tuple[str, ...]

    @property
    def same(self) -> bool:
        """True if nothing is placed otherwise."""
        return not (self.moved or self.added or self.removed)


def compare_plans(world: World, old: Mapping[str, Placement], new: Plan) -> Comparison:
    """Compare a new plan with an older one.

    Parameters
    ----------
    world
        The world of the new plan.
    old
        Placements by work id, on the same slot axis; works the world no longer has are told as
        removed and count for nothing else.
    """
    known = {name: at for name, at in old.items() if name in world.works}
    placed = {name: new[name] for name in world.works}
    before, after = _ends(world, known), _ends(world, placed)
    return Comparison(
        finishes={job: Finish(before.get(job), after.get(job)) for job in world.jobs},
        at_risk=tuple(job for job, end in after.items() if _missed(world, job, end)),
        crew_days=_crew_days(world, known, placed),
        moved=tuple(
            Move(name, known[name], at)
            for name, at in placed.items()
            if name in known and known[name] != at
        ),
        added=tuple(name for name in placed if name not in known),
        removed=tuple(name for name in old if name not in world.works),
    )


def _ends(world: World, placed: Mapping[str, Placement]) -> dict[str, int]:
    """Last counted slot of each job."""
    ends: dict[str, int] = {}
    for name, at in placed.items():
        work = world.works[name]
        if work.counts:
            ends[work.job] = max(at.end, ends.get(work.job, at.end))
    return ends


def _missed(world: World, job: str, end: int) -> bool:
    """Return True if a job ends on a later day than it was promised for."""
    promise = world.jobs[job].promise
    axis = world.axes[world.jobs[job].zone]
    return promise is not None and axis.day(end) > axis.day(promise)


def _crew_days(
    world: World, old: Mapping[str, Placement], new: Mapping[str, Placement]
) -> tuple[tuple[str, date], ...]:
    before, after = _jobs_by_day(world, old), _jobs_by_day(world, new)
    differ = {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}
    return tuple(sorted(differ, key=lambda key: (key[1], key[0])))


def _jobs_by_day(world: World, placed: Mapping[str, Placement]) -> dict[tuple[str, date], set[str]]:
    """Return the jobs each crew works for on each day."""
    jobs: dict[tuple[str, date], set[str]] = defaultdict(set)
    for name, at in placed.items():
        work = world.works[name]
        axis = world.axes[world.jobs[work.job].zone]
        for crew in work.held_by(at.crew):
            for slot in worked_slots(world, work, at):
                jobs[crew, axis.day(slot)].add(work.job)
    return jobs
