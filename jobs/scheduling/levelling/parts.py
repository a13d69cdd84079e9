"""Settle a part of a plan with CP-SAT; ortools is imported only when a part is solved.

Everything else stands, so only the free works are variables (``stands``); ``sharing`` and ``following`` have a function
per constraint. Every variable is hinted with what stands, so that the solver begins there and never ends worse. One
worker, because two inside the library were seen to crash on hinted parts; whoever calls this does so in a process of its own.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Any

from jobs.scheduling.result import Score
from jobs.scheduling.search.neighbourhoods import Answer

from .following import Following
from .sharing import half_days, no_more_than_there_are, one_thing_at_a_time, room_in_the_ways
from .stands import Stands

if TYPE_CHECKING:
    from jobs.scheduling.budget import Budget
    from jobs.scheduling.placing.ways import Way
    from jobs.scheduling.search.neighbourhoods import Part, Stood


def solve_part(part: Part, stop: Budget) -> Answer | None:
    """Settle a part; None if nothing was found, which leaves what stood.

    Parameters
    ----------
    stop
        Asked at every better answer.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415 (0.6 s to import: only when it is needed)

    if any(not spots for spots in part.spots.values()):
        return None
    at = Stands(cp_model, part)
    one_thing_at_a_time(at)
    no_more_than_there_are(at)
    room_in_the_ways(at)
    half_days(at)
    following = Following(at)
    following.links()
    following.rests()
    price = _late_first_then_finishes(at)
    return _solved(at, price, stop)


def _late_first_then_finishes(at: Stands) -> int:
    """Weighted days late come first, then the sum of finishes; return the price of a day late in slots."""
    late, finishes = [], []
    world, per_day = at.ready.world, at.ready.per_day
    names = list(world.jobs)
    for n, stays in at.part.jobs.items():
        job, counted = world.jobs[names[n]], at.part.counted[n]
        stood = max([stays, *(at.part.stood[i][1] for i in counted)])
        finish = at.between(stays, at.ready.size - 1, stood)
        for i in counted:
            at.model.add(finish >= at.end[i])
        finishes.append(finish)
        if job.promise is not None:
            day = job.promise // per_day
            days = at.between(0, at.ready.size // per_day, max(0, stood // per_day - day))
            at.model.add(finish <= per_day * (day + days) + per_day - 1)
            late.append(job.weight * days)
    price = len(finishes) * at.ready.size + 1
    at.model.minimize(price * sum(late) + sum(finishes))
    return price


def _solved(at: Stands, price: int, stop: Budget) -> Answer | None:
    """Run the solver within its limits and read its answer."""
    solver = at.cp.CpSolver()
    _limit(solver.parameters, at.part)
    status = solver.solve(at.model, _watcher(at.cp, stop))
    if status not in {at.cp.OPTIMAL, at.cp.FEASIBLE}:
        return None
    stands = {i: _stood(at, solver, i) for i in at.start}
    least = max(0, ceil(solver.best_objective_bound - 1e-6))
    late, finish = divmod(least, price)
    return Answer(stands, status == at.cp.OPTIMAL, Score(late=late, finish=finish))


def _limit(parameters: Any, part: Part) -> None:
    """Without linear relaxations and long presolves: both were measured to cost more than they give."""
    parameters.num_workers = 1
    parameters.random_seed = part.seed % (1 << 31)
    parameters.cp_model_probing_level = 0
    parameters.max_presolve_iterations = 1
    parameters.symmetry_level = 0
    parameters.linearization_level = 0
    if part.seconds is not None:
        parameters.max_time_in_seconds = part.seconds
    if part.work is not None:
        parameters.max_deterministic_time = part.work


def _stood(at: Stands, solver: Any, i: int) -> Stood:
    way: Way = next(s.way for literal, s in at.chosen[i] if solver.boolean_value(literal))
    return solver.value(at.start[i]), solver.value(at.end[i]), way


def _watcher(cp: Any, stop: Budget) -> Any:
    class Watcher(cp.CpSolverSolutionCallback):  # type: ignore[misc]
        def on_solution_callback(self) -> None:
            if stop():
                self.stop_search()

    return Watcher()
