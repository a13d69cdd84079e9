"""A planner's result as rows of tables: dates on the clock, float, reasons, worked stretches."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from itertools import groupby
from typing import TYPE_CHECKING, Any

import crews.models as people
from jobs import models
from jobs.scheduling.calendars import worked_slots
from jobs.scheduling.reasons.explain import Reasons
from jobs.scheduling.waits import slower_by
from jobs.trade.strength import together
from jobs.trade.work import Clock, Relation, Sentence, Shift

from .crew_clock import shown

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from jobs.scheduling.paths.network import Network
    from jobs.scheduling.result import Placement, Plan
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Work, World

    from .planning import Planning

SLOT_HOURS = 2
OFF = "explain-closed-crew"
"""Why not sooner: its crew is off. Whoever is hired is not off, but hired for other days."""


def absolute(axis: SlotAxis, slot: int) -> int:
    """Return a slot counted from the first day of the year 1, so that it outlives hours and axes."""
    return axis.first.toordinal() * axis.per_day + slot


@dataclass(frozen=True)
class PlanWriter:
    """Writes a plan as rows: where each activity stands, how far it can slip, and why."""

    planning: Planning
    plan: models.Plan
    placed: Plan
    network: Network

    @cached_property
    def reasons(self) -> Reasons:
        """Why nothing begins sooner, the world read once for all works."""
        return Reasons(self.world, self.placed)

    @cached_property
    def chained(self) -> frozenset[str]:
        """Works on the chain to any finish: with no more than the hours that waits leave over."""
        return frozenset(uid for chain in self.network.chains.values() for uid in chain)

    @property
    def world(self) -> World:
        """What was planned."""
        return self.planning.world

    def rows(self) -> list[models.PlanRow]:
        """Return a row for every work, one query."""
        crews = {crew.slug: crew for crew in people.Crew.objects.all()}
        units = machine_units(self.planning)
        ends = _waits(self.world, self.placed)
        return [
            self._row(work, crews, units, ends.get(work.id)) for work in self.world.works.values()
        ]

    def _row(
        self,
        work: Work,
        crews: Mapping[str, people.Crew],
        units: Mapping[str, Sequence[str]],
        wait: tuple[datetime, str] | None,
    ) -> models.PlanRow:
        at = self.placed[work.id]
        axis = self._axis(work)
        dates = self.network.rows[work.id]
        activity = self.planning.activities[work.id]
        return models.PlanRow(
            plan=self.plan,
            activity=activity,
            crew=crews.get(at.crew),
            lent=crews.get(work.lent) if at.crew in crews else None,
            people=self._people(work, at),
            first=absolute(axis, at.start),
            last=absolute(axis, at.end),
            start=self._clock(axis.begins(at.start), at),
            finish=self._clock(axis.ends(at.end), at),
            segments=segments(
                axis, self._shown(work, at), self._day(at.crew), lambda it: self._clock(it, at)
            ),
            machines=[[kind, unit, _whose(units[kind], unit)] for kind, unit in at.machines],
            wait_until=wait[0] if wait else None,
            wait=wait[1] if wait else "",
            early_start=axis.begins(dates.early_start),
            late_finish=axis.ends(dates.late_finish),
            free_finish=axis.ends(dates.free_finish),
            float_hours=dates.total_float * SLOT_HOURS,
            critical=dates.critical or work.id in self.chained,
            why=self._why(work),
        )

    def _why(self, work: Work) -> list[list[Any]]:
        if work.done is not None:
            return []
        reason = self.reasons.why_not_sooner(work.id)
        told = [pair(sentence) for sentence in (reason.binding, reason.next) if sentence]
        if self.world.is_hired(self.placed[work.id].crew):
            return [["nobody-days" if key == OFF else key, values] for key, values in told]
        return told

    def _people(self, work: Work, at: Placement) -> int | None:
        """How many are at it on its first day, or where that is past, on most days."""
        crew = self.planning.hours.crews.get(at.crew)
        if crew is None:
            return None
        activity = self.planning.activities[work.id]
        able: Sequence[int] = crew.able.get(activity.skill, crew.people)
        lent = self.planning.hours.crews.get(work.lent)
        if lent is not None:
            able = together(able, lent.able.get(activity.skill, ()))
        day = at.start // self._axis(work).per_day
        here = able[day] if day >= 0 else 0
        return min(here or max(able, default=0), activity.people + activity.people // 2)

    def _shown(self, work: Work, at: Placement) -> list[int]:
        """Slots worked; where a crew is short of people it is there for the slots it loses, too."""
        worked = worked_slots(self.world, work, at)
        if at.crew not in work.short:
            return worked
        per_day = self._axis(work).per_day
        days = {slot // per_day for slot in worked}
        there = worked_slots(self.world, replace(work, short={}), at)
        return [slot for slot in there if slot // per_day in days]

    def _axis(self, work: Work) -> SlotAxis:
        return self.world.axes[self.world.jobs[work.job].zone]

    def _clock(self, moment: datetime, at: Placement) -> datetime:
        """A moment of the plan at the hour it has for its crew."""
        return shown(moment, at.crew, self.planning.book)

    def _day(self, crew: str) -> int:
        return self.world.crews[crew].open if crew else 0

    def jobs(self) -> list[models.JobPlan]:
        """Return a row for every job with work that counts for its finish."""
        plans = []
        for uid, job in self.planning.jobs.items():
            works = [w for w in self.world.works.values() if w.job == uid]
            counted = [w for w in works if w.counts]
            if not counted:
                continue
            axis = self.world.axes[job.zone]
            plans.append(
                models.JobPlan(
                    plan=self.plan,
                    job=job,
                    start=axis.begins(min(self.placed[w.id].start for w in works)),
                    finish=axis.ends(max(self.placed[w.id].end for w in counted)),
                    promise=job.promised_on,
                    float_hours=self.network.promise_float(uid),
                    chain=list(self.network.chains[uid]),
                )
            )
        return plans


def machine_units(planning: Planning) -> dict[str, list[str]]:
    """Return, per machine kind, the slug of the machine each unit belongs to; hired units follow."""
    units: dict[str, list[str]] = {}
    for slug, machine in planning.hours.machines.items():
        units.setdefault(machine.kind, []).extend([slug] * max(machine.units, default=0))
    return units


def _whose(units: Sequence[str], unit: int) -> str:
    """The slug of the machine a unit belongs to; empty for one that is hired."""
    return units[unit] if unit < len(units) else ""


def segments(
    axis: SlotAxis,
    slots: Sequence[int],
    crew_open: int,
    clock: Callable[[datetime], datetime] = lambda moment: moment,
) -> list[list[Any]]:
    """Return the worked slots as one [start, finish, whole] a day, at the hours a crew's clock says.

    ``whole`` says that all day slots the crew works that day are taken.
    """
    out: list[list[Any]] = []
    day_mask = axis.day_mask(Shift.DAY)
    for day, group in groupby(slots, key=lambda slot: slot // axis.per_day):
        worked = list(group)
        open_today = crew_open >> (day * axis.per_day) & day_mask
        taken = sum(1 << (slot % axis.per_day) for slot in worked)
        out.append(
            [
                clock(axis.begins(worked[0])).isoformat(),
                clock(axis.ends(worked[-1])).isoformat(),
                bool(open_today) and taken & open_today == open_today,
            ]
        )
    return out


def pair(sentence: Sentence) -> list[Any]:
    """Return a sentence as stored: key and values."""
    return [sentence.key, dict(sentence.values)]


def _waits(world: World, plan: Plan) -> dict[str, tuple[datetime, str]]:
    """End and key of the longest wait on the clock that each work starts."""
    longest: dict[str, tuple[datetime, str]] = {}
    for tie in world.ties:
        if tie.relation is not Relation.FINISH_START or tie.lag.clock is not Clock.ELAPSED:
            continue
        if tie.lag.amount <= 0:
            continue
        work = world.works[tie.before]
        axis = world.axes[world.jobs[work.job].zone]
        until = axis.ends(plan[work.id].end) + timedelta(
            minutes=tie.lag.amount + slower_by(tie.lag, axis, plan[work.id].end)
        )
        if work.id not in longest or until > longest[work.id][0]:
            longest[work.id] = (until, tie.lag.wait)
    return longest
