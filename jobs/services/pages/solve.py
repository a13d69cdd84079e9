"""Reads how the search for a better plan stands: waiting, running, or how the last one ended."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from jobs.models import Plan, Solve
from jobs.scheduling.result import Status
from jobs.services.planning.solving import anybody_there, current

if TYPE_CHECKING:
    from collections.abc import Sequence

FEW_SECONDS = 10


@dataclass(frozen=True, slots=True)
class SolvePart:
    """What the part shows.

    Attributes
    ----------
    open
        The search that waits or runs; None if there is none.
    alone
        True if no worker is there to do it.
    best, bound
        What is found so far, and what no plan can beat, in words; empty while nothing is known.
    seconds, limit
        Whole seconds gone and allowed.
    ended
        How the last search ended, if it ended without a plan.
    """

    open: Solve | None
    alone: bool
    best: str = ""
    bound: str = ""
    seconds: int = 0
    limit: int = 0
    ended: str = ""


def read_solve_part() -> SolvePart:
    """Read the queue, in a bounded number of queries."""
    task = current()
    alone = not anybody_there()
    if task is None:
        return SolvePart(None, alone, ended=_ended())
    told = task.progress
    if not told:
        return SolvePart(task, alone, limit=ceil(task.limit))
    return SolvePart(
        task,
        alone,
        best=score_words(told["best"]),
        bound=bound_words(told["best"], told["bound"]),
        seconds=int(told["seconds"]),
        limit=ceil(task.limit),
    )


def _ended() -> str:
    last = Solve.objects.filter(kind=Solve.Kind.PLAN).exclude(state__in=Solve.OPEN).first()
    return last.reason if last is not None and last.state == Solve.State.FAILED else ""


def score_words(best: Sequence[int]) -> str:
    """Say how a plan scores."""
    late = best[0]
    return f"{late} weighted day{'' if late == 1 else 's'} late" if late else "every promise kept"


def bound_words(best: Sequence[int], bound: Sequence[int]) -> str:
    """Say what is proven so far; both are days late, finishes and upset."""
    if list(best) == list(bound):
        return "no plan can be better"
    if best[0] == bound[0]:
        slots = best[1] - bound[1]
        return f"finishes at most {slots} quarter day{'' if slots == 1 else 's'} from the best possible"
    return f"no plan can be less than {bound[0]} weighted days late"


def how_proven(plan: Plan) -> str:
    """Say how good a stored plan is proven to be."""
    if plan.status == Status.PROVEN.value:
        return "proven best"
    if plan.gap is not None:
        return f"within {max(1, ceil(plan.gap))} % of the best possible"
    took = f"{plan.seconds:.0f} s" if plan.seconds >= FEW_SECONDS else f"{plan.seconds:.1f} s"
    return f"best found in {took}; nothing better is proven"
