"""The slow way to the best plan of a tiny world: try everything, keep what the judge lets pass."""

from __future__ import annotations

from itertools import chain, combinations, product
from typing import TYPE_CHECKING

from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.result import Placement, Plan, Score

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from jobs.scheduling.world import Work, World


def plan_below(world: World, limit: Score | None) -> Plan | None:
    """Return a sound plan that scores below a limit (any sound plan without one), or None.

    Works are placed one by one, those with fewest places first, in every slot, with every crew and every choice
    of machine units. A start that is refused beside the works placed already stays refused, and no
    work placed later makes a score better, so both cut the search without hiding a plan.
    """
    return plan_that(
        world,
        lambda placed: limit is None or judge_plan(world, Plan(placed)).score.main < limit.main,
    )


def plan_that(world: World, fits: Callable[[dict[str, Placement]], bool]) -> Plan | None:
    """Return a sound plan that fits, or None if there is none.

    ``fits`` is asked of every beginning of a plan as well; what it refuses there it has to refuse whatever is
    placed besides.
    """
    spots = {name: _spots(world, work) for name, work in world.works.items()}
    names = sorted(spots, key=lambda name: len(spots[name]))
    return _place(world, names, spots, {}, fits)


def _place(
    world: World,
    names: list[str],
    spots: dict[str, list[Placement]],
    placed: dict[str, Placement],
    fits: Callable[[dict[str, Placement]], bool],
) -> Plan | None:
    if len(placed) == len(names):
        return Plan(dict(placed))
    name = names[len(placed)]
    for spot in spots[name]:
        trial = {**placed, name: spot}
        if fits(trial) and not _kinds(world, trial):
            found = _place(world, names, spots, trial, fits)
            if found is not None:
                return found
    return None


def _kinds(world: World, placed: dict[str, Placement]) -> set[str]:
    return {breach.kind for breach in judge_plan(world, Plan(placed)).breaches} - {"missing"}


def _spots(world: World, work: Work) -> list[Placement]:
    """Every placement of a work that stands by itself, soonest end first."""
    size = world.axes[world.jobs[work.job].zone].size
    starts = [*range(size)] if work.done is None else [work.done.start]
    crews = [work.done.crew] if work.done is not None else [*work.crews] or [""]
    places = product(starts, crews, _units(world, work))
    found = [_ended(world, work, *place) for place in places]
    return sorted((spot for spot in found if spot is not None), key=lambda spot: spot.end)


def _ended(
    world: World, work: Work, start: int, crew: str, units: tuple[tuple[str, int], ...]
) -> Placement | None:
    """Return the placement from a start whose end the judge accepts, or None."""
    for end in range(start, world.axes[world.jobs[work.job].zone].size):
        spot = Placement(start, end, crew, units)
        kinds = _kinds(world, {work.id: spot})
        if not kinds:
            return spot
        if not kinds <= {"length", "record"}:
            return None
    return None


def _units(world: World, work: Work) -> Iterator[tuple[tuple[str, int], ...]]:
    """Every choice of as many units as a work needs of each machine."""
    choices = [
        combinations([(name, unit) for unit in range(len(world.machines[name].open))], count)
        for name, count in work.machines.items()
    ]
    for choice in product(*choices):
        yield tuple(chain.from_iterable(choice))
