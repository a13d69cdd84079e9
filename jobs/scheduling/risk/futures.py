"""Monte Carlo of a plan's order through weather, dry-out, cure and pace: when will it really be done?

Works come in the plan's turn; dates fall where weather and pace let them. A crew, machine or zone that waits for
one work gets on with the next that can be done, and gives way as soon as the first can go on. Days that the forecast
speaks of are drawn like all others, by its odds: a future in which it stays dry works where the plan stays away.
Nothing starts before its planned day where the plan had another reason that the order does not show. With no weather
and the usual pace every future is the plan itself.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from jobs.scheduling.errors import SchedulingError

from .account import Account
from .draws import Calm, Drawn, Roll
from .links import Ends
from .order import order_of
from .walk import Walk

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobs.scheduling.dice import Dice
    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import World
    from jobs.weather.limits import Measure

    from .account import Futures
    from .hazards import Hazards
    from .order import Order

TOGETHER, LEAST_TOGETHER = 400_000, 250
"""Works times futures walked at once, and the least futures: more would take more room than time."""
SLACK_DAYS = 45
"""Calendar days walked beyond the planned finish at the least, so that late futures still end."""


def run_futures(
    world: World,
    plan: Plan,
    *,
    weather: Hazards,
    runs: int,
    dice: Dice,
    stages: Mapping[tuple[str, str], Sequence[str]] | None = None,
) -> Futures:
    """Walk a plan's order through many futures.

    Parameters
    ----------
    stages
        Works whose common end is told besides, by job and name of the stage.

    Raises
    ------
    SchedulingError
        If no futures are asked for, or there is nothing to walk.
    """
    if runs < 1 or not world.works:
        raise SchedulingError(
            "there are no futures to look into", remedy="ask for one or more, of some work"
        )
    order, bounds = order_of(world, plan, apart=weather.apart), _bounds(world, plan)
    floors = _floors(world, plan, order, bounds[1])
    ends = max(at.end for at in plan.placements.values()) - bounds[0]
    days = max(1, 1 + ends // world.axis.per_day)
    drawn_in = _drawn_in(world, weather.windows)
    parts, causes = [], _Causes()
    batch = max(LEAST_TOGETHER, TOGETHER // len(world.works))
    for begun in range(0, runs, batch):
        some = min(batch, runs - begun)
        roll = Roll(dice, begun // batch, some)
        drawn = Drawn(world, weather, roll, bounds=bounds, planned_days=days)
        parts.append(Walk(drawn_in, plan, order, drawn, bounds, floors).run())
        causes.add(drawn.causes, some / runs)
    account = Account(world, plan, _together(parts), bounds[1])
    told = {key: account.stage(works) for key, works in (stages or {}).items()}
    return replace(account.futures(runs, causes.shares), stages=told)


def _together(parts: Sequence[Mapping[str, Ends]]) -> Mapping[str, Ends]:
    """Return the futures of all batches as one."""
    return {
        name: Ends(
            *(
                np.concatenate(column)
                for column in zip(*(part[name] for part in parts), strict=True)
            )
        )
        for name in parts[0]
    }


def _bounds(world: World, plan: Plan) -> tuple[int, int]:
    """First slot weather is drawn for, and where looking ahead ends: as long again and more."""
    axis = world.axis
    first = world.now // axis.per_day
    last = max(at.end for at in plan.placements.values()) // axis.per_day
    days = min(axis.days, last + max(SLACK_DAYS, last - first) + 1)
    return first * axis.per_day, days * axis.per_day


def _drawn_in(world: World, windows: Mapping[str, int | None]) -> World:
    """The world with the slots that the forecast shut in the plan open again: their weather is drawn."""
    again = {name: replace(world.works[name], window=bits) for name, bits in windows.items()}
    return replace(world, works={**world.works, **again}) if again else world


def _floors(world: World, plan: Plan, order: Order, size: int) -> dict[str, int]:
    """Planned starts of works that the order alone would let begin earlier, and of requests."""
    walk, floors = Walk(world, plan, order, Calm(), (0, size), {}), {}
    for name in order.works:
        start = plan[name].start
        if world.works[name].request or int(walk.soonest(name)[0]) < start:
            floors[name] = start
        walk.put(name, floors.get(name, 0))
    return floors


class _Causes:
    """By work, the mean share that each measure loses over batches of futures."""

    def __init__(self) -> None:
        self.shares: dict[str, dict[Measure, float]] = {}

    def add(self, causes: Mapping[str, Mapping[Measure, float]], weight: float) -> None:
        """Add a batch that is such a share of all futures."""
        for work, lost in causes.items():
            mine = self.shares.setdefault(work, {})
            for measure, share in lost.items():
                mine[measure] = mine.get(measure, 0.0) + weight * share
