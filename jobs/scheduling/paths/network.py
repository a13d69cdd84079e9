"""The critical path on the slot axis: early and late dates, floats, chains, float to the promise.

Early dates come from links, calendars and pins alone and are the same for every plan. With a plan,
late dates and floats are true for that plan: a work can slip to its late finish with its crew kept
and every job still done when planned, because the order in which crews, machines and ground are
shared out counts like links. Without one they are those of the links alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.scheduling.calendars import Calendar
from jobs.scheduling.fits import first_fit
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Placement
from jobs.trade.work import Shift

from .chains import driving_chain, near_chains
from .early import Early, early_dates
from .late import Slack, Slip
from .web import link_steps, sharing_steps

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobs.scheduling.result import Plan
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Job, World

SLOT_HOURS = 2
WORKDAYS = 5


@dataclass(frozen=True, slots=True)
class Row:
    """Dates of one work, in slots worked (both ends inclusive), and floats in its working slots.

    Attributes
    ----------
    total_float
        How far it can slip with its job still done as planned.
    free_finish
        Last slot it may be done in with nothing else moved at all.
    critical
        True if it is not done yet and cannot slip.
    """

    early_start: int
    early_finish: int
    late_start: int
    late_finish: int
    free_finish: int
    total_float: int
    critical: bool


@dataclass(frozen=True)
class Network:
    """Dates of all works and what drives them.

    Attributes
    ----------
    rows
        By work id.
    chains
        By job id, the works from first to last that hold its finish where it is.
    near
        By job id, chains that become critical with two days' delay.
    """

    rows: Mapping[str, Row]
    chains: Mapping[str, tuple[str, ...]]
    near: Mapping[str, tuple[tuple[str, ...], ...]]
    _slack: Slack

    def promise_float(self, job: str) -> int | None:
        """Return the working hours from a job's finish to its promise, negative if it is missed.

        Two for each slot in which, Monday to Friday by day, the yard and some crew are open. None
        without a promise, or if the job has no work that counts.
        """
        world, placed = self._slack.ready.world, self._slack.placed
        yard = world.jobs[job]
        ends = [
            at.end
            for w, at in zip(self._slack.ready.works, placed, strict=True)
            if w.job == job and w.counts
        ]
        if yard.promise is None or not ends:
            return None
        return usual_calendar(world, yard).count(max(ends) + 1, yard.promise) * SLOT_HOURS


def critical_path(world: World, plan: Plan | None = None) -> Network:
    """Compute dates, floats and chains of a world, true for a plan if one is given.

    Raises
    ------
    NoPlan
        If the links run in a ring, or cannot be kept; the works concerned are the culprits.
    """
    return network_of(Ready(world), plan)


def network_of(ready: Ready, plan: Plan | None = None) -> Network:
    """Compute the same from a world made ready."""
    early = early_dates(ready)
    placed = (
        soonest_places(ready, early) if plan is None else [plan[work.id] for work in ready.works]
    )
    steps = [*link_steps(ready, [at.crew for at in placed])]
    if plan is not None:
        steps += sharing_steps(ready, placed)
    slack = Slack(ready, placed, tuple(steps))
    slips = slack.slips()
    rows = {work.id: _row(ready, early, i, slips[i]) for i, work in enumerate(ready.works)}
    chains, near = _chains(slack, slips)
    return Network(rows, chains, near, slack)


def soonest_places(ready: Ready, early: Early) -> list[Placement]:
    """Early dates as placements, each with the crew that would be done first."""
    placed = []
    for i, work in enumerate(ready.works):
        if i in ready.fixed:
            placed.append(ready.fixed[i])
            continue
        day = ready.per_day if work.one_go else 0
        best = min(
            ready.options[i],
            key=lambda o: first_fit(o.calendar, o.slots, early.start[i], early.end[i], day)[1],
        )
        placed.append(Placement(early.start[i], early.end[i], best.crew))
    return placed


def _row(ready: Ready, early: Early, i: int, slip: Slip) -> Row:
    done = ready.works[i].done
    open_yet = done is None or done.end is None
    return Row(
        early.start[i],
        early.end[i],
        slip.start,
        slip.end,
        slip.free,
        slip.total,
        critical=open_yet and not slip.total,
    )


def _chains(
    slack: Slack, slips: Sequence[Slip]
) -> tuple[dict[str, tuple[str, ...]], dict[str, tuple[tuple[str, ...], ...]]]:
    ready, placed = slack.ready, slack.placed
    chains, near = {}, {}
    for job in ready.world.jobs:
        works = [i for i, work in enumerate(ready.works) if work.job == job]
        counted = [i for i in works if ready.works[i].counts]
        last = max(counted, key=lambda i: (placed[i].end, placed[i].start), default=None)
        chain = () if last is None else driving_chain(slack, slips, last)
        chains[job] = _ids(ready, chain)
        near[job] = tuple(_ids(ready, found) for found in near_chains(slack, slips, chain, works))
    return chains, near


def _ids(ready: Ready, chain: Sequence[int]) -> tuple[str, ...]:
    return tuple(ready.works[i].id for i in chain)


def usual_calendar(world: World, job: Job) -> Calendar:
    """Slots in which, Monday to Friday by day, a yard and some crew are open."""
    axis = world.axes[job.zone]
    people = world.anybody
    bits = job.open & axis.shift_mask(Shift.DAY) & _weekdays(axis)
    return Calendar(bits & people if people else bits, axis.size)


def _weekdays(axis: SlotAxis) -> int:
    day = (1 << axis.per_day) - 1
    return sum(
        day << (offset * axis.per_day)
        for offset in range(axis.days)
        if axis.day(offset * axis.per_day).weekday() < WORKDAYS
    )
