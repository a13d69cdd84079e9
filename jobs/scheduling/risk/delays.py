"""What makes a finish later than planned: what may go otherwise is let in, one thing after the other."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from .futures import run_futures

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import timedelta

    from jobs.scheduling.dice import Dice
    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import World

    from .account import Futures
    from .hazards import Hazards


class Delay(NamedTuple):
    """By how much each thing moves a job's finish at even odds, closed days included.

    Each is let in after those before it, so that they add up; what two do only together falls to the later.

    Attributes
    ----------
    pace, waits, weather
        What goes otherwise in the yard itself, as if its crews and machines were its own. Weather moves a
        finish from the one planned around the forecast, so that it may do so for the better.
    others
        Crews and machines that are held up at other yards.
    """

    pace: timedelta
    waits: timedelta
    weather: timedelta
    others: timedelta


def split_delay(
    world: World, plan: Plan, *, weather: Hazards, runs: int, dice: Dice, whole: Futures
) -> Mapping[str, Delay]:
    """Return, by job, what moves its finish from the planned day to the one at even odds.

    Parameters
    ----------
    runs
        Futures walked for each thing.
    whole
        What all of them together make of the plan.
    """
    calm = replace(weather, apart=True, limits={}, windows={})
    steps = (
        replace(calm, waits={}, own_waits={}, cures={}),
        calm,
        replace(weather, apart=True),
    )
    alone = [run_futures(world, plan, weather=step, runs=runs, dice=dice).jobs for step in steps]
    found = {}
    for job, odds in whole.jobs.items():
        ends = [odds.planned, *(step[job].p50 for step in alone), odds.p50]
        found[job] = Delay(*(later - sooner for sooner, later in pairwise(ends)))
    return found
