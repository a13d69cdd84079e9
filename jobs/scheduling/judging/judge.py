"""Judge any plan: is it sound, what is wrong with it, and what does it score?

The judge reads only the world and the plan and shares no code with whatever made the plan: tests,
acceptance and measurements rely on it. Each rule is a short function with its sentence, in
``alone`` (a work by itself), ``together`` (works that share a crew, a machine, ground
or a way in) and ``clock`` (links, waits and ground kept free).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.scheduling.result import Score

from .alone import check_each
from .case import Breach, Case
from .clock import check_clock
from .together import check_sharing
from .untidy import count_untidy
from .upset import count_upset

if TYPE_CHECKING:
    from jobs.scheduling.result import Plan
    from jobs.scheduling.world import Job, World

__all__ = ["Breach", "Verdict", "judge_plan"]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is wrong with a plan, if anything, and its score, sound or not.

    Attributes
    ----------
    breaches
        In a fixed order: works by themselves, works together, the clock.
    score
        Counted from the placements alone; works not placed count for nothing.
    """

    breaches: tuple[Breach, ...]
    score: Score

    @property
    def sound(self) -> bool:
        """True if nothing is wrong."""
        return not self.breaches


def judge_plan(world: World, plan: Plan) -> Verdict:
    """Check a plan against its world and score it.

    Parameters
    ----------
    world
        What was to be planned.
    plan
        Any placements at all, from a builder, a solver, a person or a file.

    Returns
    -------
    Verdict
        All breaches found and the score.
    """
    case = Case(world, plan)
    breaches = (*check_each(case), *check_sharing(case), *check_clock(case))
    return Verdict(breaches, _score(case))


def _score(case: Case) -> Score:
    """Days late by weight, upset of what is published, last counted slots, summed over the jobs, what is untidy."""
    ends: dict[str, int] = {}
    for work, at in case.works():
        if work.counts:
            ends[work.job] = max(at.end, ends.get(work.job, at.end))
    late = sum(_late(case, case.world.jobs[name], end) for name, end in ends.items())
    return Score(
        late=late, upset=count_upset(case), finish=sum(ends.values()), untidy=count_untidy(case)
    )


def _late(case: Case, job: Job, end: int) -> int:
    """Weight times the calendar days from the promised day to the finish."""
    if job.promise is None:
        return 0
    axis = case.world.axes[job.zone]
    return job.weight * max(0, (axis.day(end) - axis.day(job.promise)).days)
