"""How good a plan is, in words: what is late, and what is proven of it.

Proofs speak of promises and finishes. Once a plan is published the next working day is fixed, and what is
proven is proven of plans that keep it: then the words say so.
"""

from __future__ import annotations

from decimal import Decimal
from math import ceil
from typing import TYPE_CHECKING

from jobs.scheduling.result import Status
from jobs.services.telling.speech import counted, say_day, spoken_days

if TYPE_CHECKING:
    from collections.abc import Sequence

    from jobs.models import Plan

FEW_SECONDS = 10
SLOTS_A_DAY = 4


def how_proven(plan: Plan) -> str:
    """Say how good a stored plan is proven to be, and among which plans."""
    day = say_day(plan.keeps_day) if plan.keeps_day else ""
    if plan.status == Status.PROVEN.value:
        among = f" of all plans that keep {day} as published" if day else ""
        return f"proven best in promises and finishes{among}"
    if plan.gap is not None:
        given = f" with {day} as published" if day else ""
        return f"finishes within {max(1, ceil(plan.gap))} % of the best possible{given}"
    took = f"{plan.seconds:.0f} s" if plan.seconds >= FEW_SECONDS else f"{plan.seconds:.1f} s"
    if plan.late_bound:
        among = f" that keeps {day} as published" if day else ""
        return (
            f"best found in {took}; no plan{among} can be less than {_days_late(plan.late_bound)}"
        )
    return f"best found in {took}; nothing better is proven"


def score_words(best: Sequence[int]) -> str:
    """Say how a plan scores."""
    return _days_late(best[0]) if best[0] else "every promise kept"


def bound_words(best: Sequence[int], bound: Sequence[int], *, keeps: bool = False) -> str:
    """Say what is proven so far; both are days late, finishes and upset.

    Parameters
    ----------
    keeps
        True if the next working day is fixed as published.
    """
    among = " that keeps the next working day as published" if keeps else ""
    if list(best) == list(bound):
        return f"no plan{among} can be better in promises and finishes"
    if best[0] == bound[0]:
        slots = best[1] - bound[1]
        if not slots:
            return f"no plan{among} can be better in promises and finishes; one may change fewer days already told"
        given = " with the next working day as published" if keeps else ""
        apart = spoken_days(Decimal(slots) / SLOTS_A_DAY)
        return f"finishes at most {apart} from the best possible{given}"
    return f"no plan{among} can be less than {_days_late(bound[0])}"


def _days_late(late: int) -> str:
    return f"{counted(late, 'weighted day')} late"
