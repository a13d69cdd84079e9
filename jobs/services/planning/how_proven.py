"""How good a plan is, in words: what is late, and what is proven of it."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from jobs.scheduling.result import Status

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.models import Plan

FEW_SECONDS = 10


def how_proven(plan: Plan) -> str:
    """Say how good a stored plan is proven to be."""
    if plan.status == Status.PROVEN.value:
        return "proven best"
    if plan.gap is not None:
        return f"within {max(1, ceil(plan.gap))} % of the best possible"
    took = f"{plan.seconds:.0f} s" if plan.seconds >= FEW_SECONDS else f"{plan.seconds:.1f} s"
    return f"best found in {took}; nothing better is proven"


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
