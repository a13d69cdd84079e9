"""Reads how the search for a better plan stands: waiting, running, or how the last one ended."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from jobs.models import Plan, Solve
from jobs.services.planning.how_proven import bound_words, score_words
from jobs.services.planning.solving import anybody_there, at_it, current


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
    at_it
        For how long a worker has been at it; empty while none is, and once it tells how far it is.
    seconds, limit
        Whole seconds gone and allowed.
    ended
        How the last search ended, if it ended without a plan.
    """

    open: Solve | None
    alone: bool
    best: str = ""
    bound: str = ""
    at_it: str = ""
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
        since = "" if alone else at_it(task)
        return SolvePart(task, alone, at_it=since, limit=ceil(task.limit))
    return SolvePart(
        task,
        alone,
        best=score_words(told["best"]),
        bound=bound_words(
            told["best"],
            told["bound"],
            keeps=Plan.objects.filter(state=Plan.State.PUBLISHED).exists(),
        ),
        seconds=int(told["seconds"]),
        limit=ceil(task.limit),
    )


def _ended() -> str:
    last = Solve.objects.filter(kind=Solve.Kind.PLAN).exclude(state__in=Solve.OPEN).first()
    return last.reason if last is not None and last.state == Solve.State.FAILED else ""
