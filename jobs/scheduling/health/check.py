"""How sound a schedule is: the fourteen published checks, each with its limit, its source and what to mend.

The checks are those of DCMA-EA PAM 200.1, as far as summaries of it could be read; limits are its own where
nothing else is said. Waits of the trade (a cure, a kill period, a notice) are not lags: they carry a reason
and a source of their own. They do not replace a look at the yard: a schedule may pass them all and be wrong.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .case import Case, Check, Due, Finding, Unit, Verdict
from .dates import hard_dates, high_float, invalid_dates, long_works, negative_float, no_crew
from .links import kinds_of_links, lags, leads, missing_logic
from .progress import critical_path_test, missed, pace, path_length

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence

    from jobs.scheduling.result import Placement, Plan
    from jobs.scheduling.world import World

__all__ = ["CHECKS", "Check", "Due", "Finding", "Unit", "Verdict", "check_health"]

CHECKS: tuple[Callable[[Case], Check], ...] = (
    missing_logic,
    leads,
    lags,
    kinds_of_links,
    hard_dates,
    high_float,
    negative_float,
    long_works,
    invalid_dates,
    no_crew,
    missed,
    critical_path_test,
    path_length,
    pace,
)
"""In the order in which they are published."""


def check_health(
    world: World,
    plan: Plan,
    *,
    shown: Mapping[str, Placement] | None = None,
    due: Sequence[Due] = (),
    job: str = "",
    nobody: Collection[str] = (),
) -> tuple[Check, ...]:
    """Check a schedule.

    Parameters
    ----------
    plan
        A sound plan of the world.
    shown
        Placements as people see them, if they are older than the plan: some may lie in the past.
    due
        Works first published to be done by now, with when they were.
    job
        Id of the one job to check; empty for all.
    nobody
        Works that nobody of the house can do and for which nobody has been hired.

    Returns
    -------
    tuple of Check
        One of each, in the order of ``CHECKS``.

    Raises
    ------
    NoPlan
        If the links of the world cannot be kept at all.
    """
    case = Case(world, plan, plan.placements if shown is None else shown, due, job, nobody)
    return tuple(check(case) for check in CHECKS)
