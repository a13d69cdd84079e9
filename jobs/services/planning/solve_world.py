"""Solve a world in processes of their own: a crash of the solver costs nothing but its process.

One process searches only, the other, or the only one, also calls the solver. Each sends its best plan
now and then, so that it survives its process; the best of all is the answer.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field, replace
from multiprocessing import get_context
from multiprocessing.connection import wait
from signal import SIG_IGN, SIGINT, signal
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.budget import Part, Tries
from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.result import Result
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.search.make_plan import make_plan, status_of, with_bound
from jobs.scheduling.untidy import untidy_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess
    from multiprocessing.synchronize import Event

    from jobs.scheduling.budget import Budget
    from jobs.scheduling.result import Plan, Score
    from jobs.scheduling.search.make_plan import Progress
    from jobs.scheduling.world import World

PAUSE = 0.25
"""Seconds between two looks at what the processes say."""
SEND_EVERY = 1.0
"""Seconds between two plans that a process sends for safety."""
GRACE = 20.0
"""Seconds after its limit when a process is no longer waited for."""
OTHER_SEED = 1_000_003


class Limits(NamedTuple):
    """What may be spent: seconds, or tries for an answer that repeats itself; and on how many cores."""

    seconds: float | None = None
    tries: int | None = None
    workers: int = 1


@dataclass(frozen=True, slots=True)
class Watch:
    """The best so far, for whoever looks on."""

    best: Score
    bound: Score
    seconds: float


class Seconds:
    """A budget in seconds that ends early when somebody says stop, or the parent is gone.

    Parameters
    ----------
    until
        When it ends, on the monotonic clock that all processes of a machine share: what a process
        needs to begin counts as spent.
    """

    def __init__(self, until: float, event: Event | None = None) -> None:
        self._begun, self._event = monotonic(), event
        self._limit = max(until - self._begun, 1e-3)
        self._parent = os.getppid()

    def __call__(self) -> bool:
        """Return True once it is time to stop."""
        return monotonic() - self._begun >= self._limit or self._told()

    def _told(self) -> bool:
        stopped = self._event is not None and self._event.is_set()
        return stopped or os.getppid() != self._parent

    def spent(self) -> float:
        """Return the share of the seconds that is gone."""
        return min(1.0, (monotonic() - self._begun) / self._limit)

    def part(self, share: float) -> Budget:
        """Return the budget up to a share of it."""
        return Part(self, share)

    def seconds(self) -> float:
        """Return the seconds left."""
        return max(0.0, self._limit - (monotonic() - self._begun))


def solve_world(
    world: World,
    limits: Limits,
    *,
    seed: int = 0,
    start: Plan | None = None,
    watch: Callable[[Watch | None], bool] | None = None,
) -> Result:
    """Plan a world as well as the limits allow.

    Parameters
    ----------
    start
        A plan to begin with; the answer is never worse, if it fits the world.
    watch
        Told the best so far a few times a second, None while nothing is found; says True to stop.

    Raises
    ------
    SchedulingError
        If no plan keeps every link.
    """
    return _Solve(world, limits, seed, start, watch).run()


@dataclass
class _Solve:
    world: World
    limits: Limits
    seed: int
    start: Plan | None
    watch: Callable[[Watch | None], bool] | None
    begun: float = field(default_factory=monotonic)
    best: Result | None = None
    told: tuple[Score, Score] | None = None
    error: SchedulingError | None = None

    def run(self) -> Result:
        context = get_context("spawn")
        event = context.Event()
        children = {}
        for n in range(max(1, self.limits.workers)):
            ours, theirs = context.Pipe(duplex=False)
            task = _Task(self.world, self.limits, self._until(), self.seed, n, self.start)
            process = context.Process(target=run_child, args=(task, theirs, event), daemon=True)
            process.start()
            theirs.close()
            children[ours] = process
        try:
            self._follow(dict(children), event)
        finally:
            for process in children.values():
                process.terminate()
                process.join()
        return self._answer()

    def _until(self) -> float | None:
        """When the processes end; None where work is counted."""
        limit = self.limits.seconds
        return None if limit is None else self.begun + limit

    def _follow(self, children: dict[Connection, SpawnProcess], event: Event) -> None:
        """Listen until all have ended, or far too much time has passed."""
        limit = self.limits.seconds
        while children:
            ready = wait(list(children), timeout=PAUSE)
            for end in [one for one in children if one in ready]:
                if not self._hear(end):
                    del children[end]
            if self._told_to_stop():
                event.set()
            if limit is not None and monotonic() - self.begun > limit + GRACE:
                return

    def _told_to_stop(self) -> bool:
        if self.watch is None:
            return False
        told = None if self.told is None else Watch(*self.told, monotonic() - self.begun)
        return self.watch(told)

    def _hear(self, end: Connection) -> bool:
        """Take in what a process says; False once it has ended, for whatever cause."""
        try:
            said = end.recv()
        except (EOFError, OSError):
            return False
        if isinstance(said, SchedulingError):
            self.error = said
        elif isinstance(said, Result):
            self._take(said)
        else:
            best, bound = said
            if self.told is not None:
                best, bound = min(best, self.told[0]), max(bound, self.told[1])
            self.told = best, bound
        return True

    def _take(self, result: Result) -> None:
        """Keep the better plan and the better bound."""
        best = self.best
        if best is None:
            self.best = result
        elif result.score <= best.score:
            self.best = with_bound(result, best.bound)
        else:
            self.best = with_bound(best, result.bound)

    def _answer(self) -> Result:
        if self.best is not None:
            return self.best
        if self.error is not None:
            raise self.error
        return build_plan(self.world, seed=self.seed)


class _Task(NamedTuple):
    """What a process is to do."""

    world: World
    limits: Limits
    until: float | None
    seed: int
    number: int
    start: Plan | None


def run_child(task: _Task, out: Connection, event: Event) -> None:
    """Plan in this process, and send what is found through a pipe."""
    from jobs.scheduling.levelling import solve_part  # noqa: PLC0415 (not in the parent)

    signal(SIGINT, SIG_IGN)  # Ctrl-C is for the parent, which then ends its children
    budget: Budget
    if task.until is None:
        budget = Tries(task.limits.tries or 0, stop=event.is_set)
    else:
        budget = Seconds(task.until, event)
    careful = task.limits.workers > 1 and task.number == 0
    sender = _Sender(task, out)
    try:
        result = make_plan(
            task.world,
            stop=budget,
            seed=task.seed + OTHER_SEED * task.number,
            start=task.start,
            progress=sender,
            solver=None if careful else solve_part,
        )
        out.send(replace(result, seed=task.seed))
    except SchedulingError as error:
        out.send(error)
    except BrokenPipeError:
        return  # the parent is gone: nobody is left to tell


class _Sender:
    """Sends every better score, and plans now and then and before anything risky."""

    def __init__(self, task: _Task, out: Connection) -> None:
        self._task, self._out, self._sent = task, out, 0.0

    def __call__(self, progress: Progress) -> None:
        self._out.send((progress.best, progress.bound))
        if progress.risky or monotonic() - self._sent > SEND_EVERY:
            self._sent = monotonic()
            plan = progress.plan()
            untidy = untidy_of(self._task.world, plan.placements).points
            self._out.send(
                Result(
                    plan=plan,
                    score=progress.best._replace(untidy=untidy),
                    bound=progress.bound,
                    status=status_of(progress.best, progress.bound),
                    seed=self._task.seed,
                    rule=progress.rule,
                    tried=0,
                    keeps=progress.keeps,
                )
            )
