"""One future walked in plain Python, slot by slot: what the walk of all futures at once is held against.

It shares nothing with that walk but the nouns and the arithmetic of waits, which has tests of its own.
"""

from __future__ import annotations

from collections import Counter

from jobs.scheduling.calendars import Calendar, work_bits
from jobs.scheduling.waits import Wait
from jobs.trade.work import Lag, Relation


def walk_one(world, plan, slots, lost):
    """Return first and last slot of every work, each taking the first slots it can in the plan's turn.

    Parameters
    ----------
    slots
        Slots a work takes.
    lost
        Slots lost to a work.
    """
    future = _Future(world, plan)
    for name in _turns(world, plan, future.links):
        future.place(world.works[name], slots[name], lost[name])
    return future.stands


def _links(world, plan):
    """Every link, and every keep-out as one, as (before, after, relation, lag)."""
    found = [(t.before, t.after, t.relation, t.lag) for t in world.ties]
    for owner in world.works.values():
        for keepout in owner.keepouts:
            for other in world.works.values():
                tread = other.treads.get(keepout.place)
                if other.id == owner.id or other.id in keepout.exempt:
                    continue
                if tread is None or tread < keepout.keeps_out:
                    continue
                if plan[other.id].start > plan[owner.id].end:
                    rest = Lag(keepout.minutes)
                    found.append((owner.id, other.id, Relation.FINISH_START, rest))
                elif plan[other.id].end < plan[owner.id].start:
                    found.append((other.id, owner.id, Relation.FINISH_START, Lag()))
    return [link for link in found if world.works[link[1]].done is None]


def _turns(world, plan, links):
    """Of those whose forerunners have had their turn, always the one that begins first in the plan."""
    left = sorted(world.works, key=lambda name: (plan[name].start, plan[name].end, name))
    by_plan, turns = list(left), []
    while left:
        ready = [n for n in left if not any(a == n and b in left for b, a, *_ in links)]
        if not ready:
            return by_plan
        turns.append(ready[0])
        left.remove(ready[0])
    return turns


class _Future:
    def __init__(self, world, plan):
        self.world, self.plan = world, plan
        self.links = _links(world, plan)
        self.size = world.axis.size
        self.used, self.stands = Counter(), {}
        self.yards, self.halves = {}, {}

    def place(self, work, count, lost):
        at = self.plan[work.id]
        if work.done is not None and work.done.end is not None:
            self.stands[work.id] = (at.start, at.end)
            return
        start, end = (self.world.now, 0) if work.done else self._bounds(work)
        bits = work_bits(self.world, work, at.crew)
        for machine, unit in at.machines:
            bits &= self.world.machines[machine].open[unit]
        opened = [t for t in range(start, self.size) if bits >> t & 1]
        good = [t for t in opened if t not in lost and self._room(work, t)]
        found = self._one_go(opened, good, work, end) if work.one_go else None
        if not work.one_go:
            ends = [n for n in range(count - 1, len(good)) if good[n] >= end]
            found = good[ends[0] - count + 1 : ends[0] + 1] if ends else None
        for slot in found or ():
            for what, _, takes in self._shares(work):
                self.used[what, slot] += takes
            for crew in self._held(work):
                self.yards[crew, slot] = self.halves[crew, self._half(slot)] = work.job
        first, last = (found[0], found[-1]) if found else (self.size, self.size)
        self.stands[work.id] = (at.start if work.done else first, last)

    def _one_go(self, opened, good, work, end):
        """The first slots in a row, of one day, that are all good."""
        count = work.crews.get(self.plan[work.id].crew, work.slots)
        per_day = self.world.axis.per_day
        for n in range(len(opened) - count + 1):
            run = opened[n : n + count]
            if run[0] // per_day == run[-1] // per_day and run[-1] >= end and set(run) <= set(good):
                return run
        return None

    def _bounds(self, work):
        start = max(self.world.now, self.world.jobs[work.job].release, work.pin.not_before or 0)
        end = 0
        for before, after, relation, lag in self.links:
            if after == work.id and before in self.stands:
                bound = self._earliest(before, work, relation, lag)
                start, end = (
                    (start, max(end, bound)) if relation.to_finish else (max(start, bound), end)
                )
        return start, end

    def _earliest(self, before, work, relation, lag):
        first, last = self.stands[before]
        axes, jobs = self.world.axes, self.world.jobs
        own = Calendar(work_bits(self.world, work, self.plan[work.id].crew), self.size)
        wait = Wait(
            lag,
            relation,
            axes[jobs[self.world.works[before].job].zone],
            axes[jobs[work.job].zone],
            own,
            self.world.holidays,
        )
        return wait.earliest(last if relation.from_finish else first)

    def _shares(self, work):
        """What is used up in a slot of work: what, how much there is, how much is taken."""
        at = self.plan[work.id]
        for crew in self._held(work):
            yield ("crew", crew), 1, 1
        for unit in at.machines:
            yield ("machine", unit), 1, 1
        if work.crews:
            yield ("yard", work.job), self.world.jobs[work.job].crews, 1
            if work.place and self.world.places[work.place].crews:
                yield ("zone", work.place), self.world.places[work.place].crews, 1
        for way, share in work.hauls.items():
            yield ("way", way), self.world.places[way].share, share

    def _held(self, work):
        at = self.plan[work.id]
        return {at.crew, work.lent if at.crew else ""} - {""}

    def _room(self, work, slot):
        full = any(self.used[what, slot] + takes > most for what, most, takes in self._shares(work))
        if full or work.done:
            return not full
        return all(self._there(crew, work.job, slot) for crew in self._held(work))

    def _there(self, crew, yard, slot):
        """Whether a crew may be in a yard: one yard a half day, and a slot of its own for a far drive."""
        if self.halves.get((crew, self._half(slot)), yard) != yard:
            return False
        day = [t for t in self._day(slot) if self.world.crews[crew].open >> t & 1]
        beside = [t for t in day if t < slot][-1:] + [t for t in day if t > slot][:1]
        return not any(
            (crew, t) in self.yards and self._far(yard, self.yards[crew, t]) for t in beside
        )

    def _day(self, slot):
        per_day = self.world.axis.per_day
        return range(slot - slot % per_day, slot - slot % per_day + per_day)

    def _half(self, slot):
        axis = self.world.axis
        return slot // axis.per_day, axis.positions[slot % axis.per_day].half

    def _far(self, one, other):
        pair = (self.world.jobs[one], self.world.jobs[other])
        return one != other and any(
            job.near is not None and there not in job.near
            for job, there in zip(pair, (other, one), strict=True)
        )
