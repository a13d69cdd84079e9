"""Why is a job not done sooner? What on its longest path would bring the finish forward most, and what next.

Looked at is what somebody can do something about: waits, crews and machines that are elsewhere, days fixed by
hand, the day the yard is ours. Each is taken away and the whole plan brought forward in its own order: what is
said of the finish has been tried.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from jobs.scheduling.paths.network import critical_path, usual_calendar
from jobs.scheduling.result import Plan
from jobs.trade.work import Shift

from .explain import Reasons
from .reading import NOTHING
from .retime import bring_forward

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.scheduling.world import Work, World
    from jobs.trade.work import Sentence

    from .reading import Away

SPARE = "~"
"""Added to the name of a crew for the hands that would be needed."""


@dataclass(frozen=True, slots=True)
class FinishReason:
    """What holds a finish.

    Attributes
    ----------
    work
        Work on the longest path that is held.
    sentence
        What holds it.
    finish
        Last counted slot of the job without that.
    days
        Working days of the yard by which that is sooner.
    world, plan
        The world without what holds it, and the plan brought forward in it.
    """

    work: str
    sentence: Sentence
    finish: int
    days: float
    world: World
    plan: Plan


def why_not_done_sooner(world: World, plan: Plan, job: str) -> tuple[FinishReason, ...]:
    """Return what holds a job's finish most, and what would next if that were gone; none where nothing does.

    Parameters
    ----------
    plan
        A sound plan of the world.
    job
        Id of a job with work that counts.
    """
    first = _most(world, bring_forward(world, plan), job)
    if first is None:
        return ()
    second = _most(first.world, first.plan, job)
    return (first,) if second is None else (first, second)


def _most(world: World, plan: Plan, job: str) -> FinishReason | None:
    """Of all that holds a finish, what brings it forward most when taken away."""
    stands, best = finish_of(world, plan, job), None
    reasons = Reasons(world, plan)
    for name in critical_path(world, plan).chains[job]:
        if world.works[name].done is not None:
            continue
        reason = reasons.why_not_sooner(name)
        told = reason.binding if reason.behind == NOTHING or not reason.next else reason.next
        away = reason.away if reason.behind == NOTHING else reason.behind
        for easier, eased in _without(world, plan, name, (told.key, away)):
            brought = bring_forward(easier, eased)
            finish = finish_of(easier, brought, job)
            if finish < (stands if best is None else best.finish):
                days = _days(world, job, finish, stands)
                best = FinishReason(name, told, finish, days, easier, brought)
    return best


def finish_of(world: World, plan: Plan, job: str) -> int:
    """Last counted slot of a job in a plan."""
    return max(
        plan[work.id].end for work in world.works.values() if work.job == job and work.counts
    )


def _days(world: World, job: str, finish: int, stands: int) -> float:
    """Usual working days of a yard between two finishes."""
    yard = world.jobs[job]
    axis = world.axes[yard.zone]
    slots = usual_calendar(world, yard).count(finish + 1, stands)
    return slots / max(1, axis.day_mask(Shift.DAY).bit_count())


def _without(
    world: World, plan: Plan, name: str, held: tuple[str, Away]
) -> Iterator[tuple[World, Plan]]:
    """The world and the plan without what holds a work, if that is among what can be looked at."""
    (key, away), work = held, world.works[name]
    if away.own == "pin":
        eased = replace(work, pin=replace(work.pin, not_before=None))
        yield replace(world, works={**world.works, name: eased}), plan
    elif away.own == "release":
        yard = replace(world.jobs[work.job], release=world.now)
        yield replace(world, jobs={**world.jobs, work.job: yard}), plan
    elif away.tie is not None and not away.own and away.tie.lag.amount > 0:
        yield _without_wait(world, away.tie.before, name), plan
    elif away.work is not None:
        yield from _shared(world, plan, (name, list(world.works)[away.work]), key)


def _shared(
    world: World, plan: Plan, pair: tuple[str, str], key: str
) -> Iterator[tuple[World, Plan]]:
    """The same where another work has the crew, a machine or the ground; what has begun keeps it."""
    work, other = (world.works[name] for name in pair)
    if key == "explain-ground":
        yield _without_wait(world, other.id, work.id), plan
    elif other.done is None and key in ("explain-crew", "explain-crew-yard"):
        yield _by_other_hands(world, plan, other)
    elif other.done is None and key in ("explain-machine", "explain-machine-yard"):
        for machine in work.machines.keys() & other.machines.keys():
            yield _with_another(world, plan, other, machine)


def _without_wait(world: World, before: str, after: str) -> World:
    """A world in which one work need not wait for another to cure or dry, nor keep off its ground."""
    ties = (
        replace(tie, lag=replace(tie.lag, amount=min(tie.lag.amount, 0)))
        if (tie.before, tie.after) == (before, after)
        else tie
        for tie in world.ties
    )
    owner = world.works[before]
    rests = (replace(rest, exempt=rest.exempt | {after}) for rest in owner.keepouts)
    works = {**world.works, before: replace(owner, keepouts=tuple(rests))}
    return replace(world, ties=tuple(ties), works=works)


def _by_other_hands(world: World, plan: Plan, work: Work) -> tuple[World, Plan]:
    """A work done by a second crew like its own."""
    at = plan[work.id]
    crew, spare = world.crews[at.crew], at.crew + SPARE
    changed = replace(
        work,
        crews={**work.crews, spare: work.crews[at.crew]},
        short={**work.short, spare: work.short.get(at.crew, 0)},
        pin=replace(work.pin, crew=spare if work.pin.crew else ""),
    )
    eased = replace(
        world,
        crews={**world.crews, spare: replace(crew, id=spare)},
        works={**world.works, work.id: changed},
    )
    return eased, Plan({**plan.placements, work.id: at._replace(crew=spare)})


def _with_another(world: World, plan: Plan, work: Work, name: str) -> tuple[World, Plan]:
    """A work done with units of a machine besides those there are."""
    at, machine = plan[work.id], world.machines[name]
    units, held = machine.open, []
    for kind, unit in at.machines:
        if kind == name:
            units = (*units, machine.open[unit])
            held.append((kind, len(units) - 1))
        else:
            held.append((kind, unit))
    eased = replace(world, machines={**world.machines, name: replace(machine, open=units)})
    return eased, Plan({**plan.placements, work.id: at._replace(machines=tuple(held))})
