"""Reasons are true: the judge lets no work start sooner as it is, and lets it without the reason.

The judge shares no code with whatever finds reasons.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

from hypothesis import HealthCheck, assume, event, given, settings

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.reasons.explain import Reasons
from jobs.scheduling.result import Placement, Plan
from jobs.scheduling.search.dispatch import build_plan
from tests.worlds import Size, worlds

SMALL = Size(works=6, slots=4, days=42)
ROOM = {"explain-spare", "explain-request"}
patient = settings(deadline=None, suppress_health_check=list(HealthCheck))


def ends(world, work, crew, units, start):
    """Last slot of a work that begins in a slot, by counting open ones on the fingers; None if it cannot."""
    job = world.jobs[work.job]
    axis = world.axes[job.zone]
    bits = job.open & (world.crews[crew].open if crew else job.open)
    bits &= job.open if work.window is None else work.window
    bits &= ~work.short.get(crew, 0)
    for name, unit in units:
        bits &= world.machines[name].open[unit]
    needed, slot = work.crews[crew] if crew else work.slots, start
    while slot < axis.size:
        if bits >> slot & 1 and axis.positions[slot % axis.per_day].shift is work.shift:
            needed -= 1
            if not needed:
                return slot
        elif slot == start:
            return None
        slot += 1
    return None


def stands(world, plan, name, start):
    """Whether the judge lets a work of a plan begin in a slot, with its crew and any machines."""
    work, crew = world.works[name], plan[name].crew
    choices = [
        combinations([(kind, n) for n in range(len(world.machines[kind].open))], count)
        for kind, count in work.machines.items()
    ]
    for chosen in product(*choices):
        units = tuple(unit for some in chosen for unit in some)
        end = ends(world, work, crew, units, start)
        if end is not None:
            moved = Plan({**plan.placements, name: Placement(start, end, crew, units)})
            if judge_plan(world, moved).sound:
                return True
    return False


def without(world, plan, name, away):
    """The world and the plan without what is said to hold a work."""
    work = world.works[name]
    if away.work is not None:
        other = list(world.works)[away.work]
        works = {key: it for key, it in world.works.items() if key != other}
        ties = tuple(tie for tie in world.ties if other not in (tie.before, tie.after))
        left = {key: at for key, at in plan.placements.items() if key != other}
        return replace(world, works=works, ties=ties), Plan(left)
    if away.own == "pin":
        pin = replace(work.pin, not_before=None)
        return replace(world, works={**world.works, name: replace(work, pin=pin)}), plan
    if away.own == "release":
        job = replace(world.jobs[work.job], release=0)
        return replace(world, jobs={**world.jobs, work.job: job}), plan
    kept = tuple(tie for tie in world.ties if tie is not away.tie)
    if away.own == "at-most":
        kept += (replace(away.tie, lag=replace(away.tie.lag, at_most=None)),)
    return replace(world, ties=kept), plan


def reasons_of(world):
    """The plan of a world, and the reason of every work that has not begun."""
    try:
        plan = build_plan(world, rules=("late start",)).plan
    except NoPlan:
        assume(False)
        raise
    found = Reasons(world, plan)
    names = [name for name, work in world.works.items() if work.done is None]
    return plan, {name: found.why_not_sooner(name) for name in names}


@patient
@given(worlds(SMALL))
def test_nothing_can_start_sooner_as_it_is(world):
    """Every sooner slot is refused, or it is admitted that the plan has left room, and from when."""
    plan, reasons = reasons_of(world)
    for name, reason in reasons.items():
        event(reason.binding.key)
        if reason.binding.key in ROOM:
            assert stands(world, plan, name, reason.sooner) or reason.sooner is None
            continue
        for slot in range(world.now, plan[name].start):
            assert not stands(world, plan, name, slot), (reason.binding, slot)


@patient
@given(worlds(SMALL))
def test_without_the_reason_it_starts_when_the_next_one_says(world):
    """The reason is taken away, everything else stays, and the judge lets the work start on that day."""
    plan, reasons = reasons_of(world)
    for name, reason in reasons.items():
        if reason.sooner is None or reason.binding.key in ROOM:
            continue
        event(f"{reason.binding.key} {'sooner' if reason.sooner < plan[name].start else 'shared'}")
        easier, left = without(world, plan, name, reason.away)
        assert stands(easier, left, name, reason.sooner), (reason, plan[name])
