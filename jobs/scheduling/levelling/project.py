"""Classic projects with CP-SAT: a whole one, with what is proven of it."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Any, NamedTuple

from jobs.scheduling.search.project import least_makespan, makespan, tails

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.search.project import Project


WORK = 2.0
"""Limit in the solver's own count of work, where no clock is read."""


class Outcome(NamedTuple):
    """Starts, and a makespan that no schedule goes below."""

    starts: list[int]
    bound: int


class _Model:
    """One interval an activity, one capacity a resource, links, and the end of all."""

    def __init__(self, cp: Any, project: Project, hint: Sequence[int], longest: int) -> None:
        self.cp, self.model, self.project = cp, cp.CpModel(), project
        tail, head = tails(project), tails(project.turned())
        self.starts = [
            self.model.new_int_var(head[i] - length, longest - tail[i], "")
            for i, length in enumerate(project.durations)
        ]
        self.end = self.model.new_int_var(least_makespan(project), longest, "")
        self._links()
        self._resources()
        self.model.minimize(self.end)
        for variable, value in zip(self.starts, hint, strict=True):
            self.model.add_hint(variable, value)
        self.model.add_hint(self.end, makespan(project, hint))

    def _links(self) -> None:
        """What follows starts when its forerunner has ended."""
        for i, found in enumerate(self.project.after):
            for j in found:
                self.model.add(self.starts[j] >= self.starts[i] + self.project.durations[i])
            if not found:
                self.model.add(self.end >= self.starts[i] + self.project.durations[i])

    def _resources(self) -> None:
        """What is under way together draws no more than there is."""
        project = self.project
        intervals = [
            self.model.new_fixed_size_interval_var(start, length, "")
            for start, length in zip(self.starts, project.durations, strict=True)
        ]
        for r, most in enumerate(project.capacities):
            users = [
                i for i, wanted in enumerate(project.demands) if wanted[r] and project.durations[i]
            ]
            held = [intervals[i] for i in users]
            if most == 1:
                self.model.add_no_overlap(held)
            elif users:
                self.model.add_cumulative(held, [project.demands[i][r] for i in users], most)


def solve_project(
    project: Project,
    hint: Sequence[int],
    budget: Budget,
    *,
    seed: int,
    told: Callable[[list[int] | None, int], None] | None = None,
) -> Outcome:
    """Solve a whole project from a schedule; never worse than that.

    Parameters
    ----------
    told
        Of each better schedule, and of each better bound (then without one).
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415 (0.6 s to import: only when needed)

    made = _Model(cp_model, project, hint, makespan(project, hint))
    solver = cp_model.CpSolver()
    _limit(solver.parameters, budget, seed)
    solver.parameters.optimize_with_core = _from_below(project)
    if told is not None:
        solver.best_bound_callback = lambda bound: told(None, _whole(bound))
    status = solver.solve(made.model, _watcher(cp_model, made, budget, told))
    bound = max(least_makespan(project), _whole(solver.best_objective_bound))
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return Outcome(list(hint), min(bound, makespan(project, hint)))
    return Outcome([solver.value(start) for start in made.starts], bound)


def _from_below(project: Project) -> bool:
    """Raise the bound until it is met, instead of finding better schedules until none is left?

    Of shops with one of each machine, ft10 and abz5 are only proven from above; files of 30 and 60 activities
    that share resources are proven as soon from below, or only so.
    """
    return max(project.capacities, default=1) > 1


def _limit(parameters: Any, budget: Budget, seed: int) -> None:
    """One worker; no linear relaxations and pairs kept apart: without them it was measured to prove more, sooner."""
    parameters.num_workers = 1
    parameters.random_seed = seed
    parameters.linearization_level = 0
    parameters.use_disjunctive_constraint_in_cumulative = False
    left = budget.seconds()
    if left is None:
        parameters.max_deterministic_time = WORK
    else:
        parameters.max_time_in_seconds = left


def _whole(bound: float) -> int:
    return ceil(bound - 1e-6)


def _watcher(
    cp: Any,
    made: _Model,
    budget: Budget,
    told: Callable[[list[int] | None, int], None] | None,
) -> Any:
    class Watcher(cp.CpSolverSolutionCallback):  # type: ignore[misc]
        def on_solution_callback(self) -> None:
            if told is not None:
                told([self.value(s) for s in made.starts], _whole(self.best_objective_bound))
            if budget():
                self.stop_search()

    return Watcher()
