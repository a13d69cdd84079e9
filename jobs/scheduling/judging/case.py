"""What the judge reads: a world and a plan side by side, with every slot each work is done in.

Nothing here is shared with what builds plans. Everything is looked up slot by slot, so that it can be
followed with a finger on a paper calendar.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from jobs.scheduling.result import Placement, Plan
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Job, Work, World
    from jobs.trade.work import Sentence

DAY_MINUTES = 24 * 60
EVERY_SLOT = -1


class Breach(NamedTuple):
    """One thing wrong with a plan: its kind, the works concerned, and a sentence that says it."""

    kind: str
    works: tuple[str, ...]
    sentence: Sentence


@dataclass(frozen=True)
class Case:
    """A world and those placements of a plan that name its works and lie on its axes."""

    world: World
    plan: Plan
    placed: Mapping[str, Placement] = field(init=False)

    def __post_init__(self) -> None:
        """Set aside placements about which nothing more can be said."""
        given = self.plan.placements
        placed = {w: given[w] for w in self.world.works if w in given and self._on_axis(w)}
        object.__setattr__(self, "placed", placed)

    @cached_property
    def worked(self) -> dict[str, list[int]]:
        """The slots each work is done in, by work id."""
        return {
            w: [slot for slot in range(at.start, at.end + 1) if self.open_to(w, slot)]
            for w, at in self.placed.items()
        }

    def works(self) -> Iterator[tuple[Work, Placement]]:
        """Every work that can be judged, with its placement, in the world's order."""
        for w, at in self.placed.items():
            yield self.world.works[w], at

    def job(self, work: str) -> Job:
        """Return the job of a work."""
        return self.world.jobs[self.world.works[work].job]

    def axis(self, work: str) -> SlotAxis:
        """Return the slot axis that a work's job lives on."""
        return self.world.axes[self.job(work).zone]

    def started(self, work: str) -> bool:
        """Return True if a work has begun in fact: its start is nobody's choice any more."""
        return self.world.works[work].done is not None

    def all_started(self, works: Iterable[str]) -> bool:
        """Return True if no plan could change how these works stand to each other."""
        return all(map(self.started, works))

    def open_to(self, work: str, slot: int) -> bool:
        """Return True if a work can be done in a slot: with its crew and every machine it holds."""
        return self.open_to_crew(work, slot) and all(
            self.world.machines[name].open[unit] >> slot & 1
            for name, unit in self.placed[work].machines
            if self.owned(name, unit)
        )

    def open_to_crew(self, work: str, slot: int) -> bool:
        """Return True if a slot is open to a work and enough of its crew, machines left aside."""
        axis, it = self.axis(work), self.world.works[work]
        if not 0 <= slot < axis.size or axis.positions[slot % axis.per_day].shift is not it.shift:
            return False
        people = EVERY_SLOT
        for crew in self.held_crews(work):
            known = self.world.crews.get(crew)
            people &= EVERY_SLOT if known is None else known.open
        window = EVERY_SLOT if it.window is None else it.window
        short = it.short.get(self.placed[work].crew, 0)
        return bool((self.job(work).open & people & window & ~short) >> slot & 1)

    def held_crews(self, work: str) -> tuple[str, ...]:
        """Crews a work keeps busy where it stands: its own, and the one lent to it."""
        crew, lent = self.placed[work].crew, self.world.works[work].lent
        return tuple(name for name in (crew, lent if crew else "") if name)

    def owned(self, machine: str, unit: int) -> bool:
        """Return True if there is such a machine, and so many of it."""
        known = self.world.machines.get(machine)
        return known is not None and 0 <= unit < len(known.open)

    def begins(self, work: str, slot: int | None = None) -> int:
        """Instant (UTC minutes) at which a work, or a slot of its axis, begins."""
        axis = self.axis(work)
        return _clock(axis, axis.begin, self.placed[work].start if slot is None else slot)

    def ends(self, work: str, slot: int | None = None) -> int:
        """Instant (UTC minutes) at which a work, or a slot of its axis, ends."""
        axis = self.axis(work)
        return _clock(axis, axis.end, self.placed[work].end if slot is None else slot)

    def name(self, work: str) -> str:
        """Return what people call a work."""
        return self.world.works[work].name

    def crew_name(self, crew: str) -> str:
        """Return what people call a crew; its id if nobody knows it."""
        known = self.world.crews.get(crew)
        return crew if known is None else known.name

    def say(self, work: str, minute: int) -> str:
        """ISO text of an instant on the wall clock of a work's job, for a sentence."""
        moment = datetime.fromtimestamp(minute * 60, tz=UTC)
        return moment.astimezone(self.axis(work).zone).isoformat()

    def _on_axis(self, work: str) -> bool:
        """What is finished may lie before the axis; all else must lie on it, start before end."""
        done, at = self.world.works[work].done, self.plan[work]
        finished = done is not None and done.end is not None
        return finished or 0 <= at.start <= at.end < self.axis(work).size


def _clock(axis: SlotAxis, edge: tuple[int, ...], slot: int) -> int:
    """Instant of a slot's edge; off the axis the clock is taken to run as on its first day."""
    if 0 <= slot < axis.size:
        return edge[slot]
    days, position = divmod(slot, axis.per_day)
    return edge[position] + days * DAY_MINUTES
