"""Solve a classic project in processes of their own: some prove, some walk; the best of all counts.

One begins by proving, the others walk. Each time one has come to an end, or proving has become hopeless, what
it does next follows from how far the best bound is from the best schedule.
"""

from __future__ import annotations

from enum import Enum
from multiprocessing import get_context
from multiprocessing.connection import wait
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.result import Status
from jobs.scheduling.search.project import Walk, faults_of, least_makespan, makespan, mirrored
from jobs.services.planning.solve_world import GRACE, OTHER_SEED, PAUSE, Seconds

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

    from jobs.scheduling.search.project import Project

DOUBT = 0.2
"""Share of the time after which a bound that is far from the best schedule, or was never raised, is given up."""
NEAR = 0.1
"""Share of the makespan between bound and schedule that is still hoped to be closed: each further slot was seen to
take half as long again as the one before. After 2 s of 10, files of PSPLIB that a proof closed later stood at 0.05 at most,
those that none closed at 0.11 and more but for one that was never raised; after 1 s j601_4, proven soon after, at 0.13."""
LUCK = 1
"""Slots between the plain bound, which no proof has raised, and a schedule that may meet it."""
TRIAL = 0.6
"""Seconds of each of several proofs with seeds of their own while the bound is the plain one: then all that is missing is
a schedule that meets it, and that is found soon or not at all. Of PSPLIB j6014_3, turned, 16 of 128 seeds found it, most in
0.35 to 0.55 s, none between 0.8 and 2.5 s."""


class Solved(NamedTuple):
    """A schedule with what is proven of it."""

    starts: list[int]
    makespan: int
    bound: int
    seconds: float

    @property
    def status(self) -> Status:
        """In the planner's own words."""
        return Status.PROVEN if self.makespan == self.bound else Status.BOUNDED


class Role(Enum):
    """What a process does until its time is up."""

    WALK = "walk"
    PROVE = "prove"
    PROVE_TURNED = "prove with time running backwards"


def solve(project: Project, *, limit: float, workers: int, seed: int) -> Solved:
    """Solve a project.

    Parameters
    ----------
    limit
        Seconds for all processes.

    Raises
    ------
    SchedulingError
        If the schedule breaks the project: nothing is given out that was not checked.
    """
    begun = monotonic()
    team = Team(project, begun + limit, seed)
    for n in range(max(1, workers)):
        team.begin(Role.WALK if n else Role.PROVE)
    team.listen(begun + DOUBT * limit)
    team.give_up_proofs()
    team.listen(begun + limit + GRACE)
    team.dismiss()
    best = team.best
    starts = best.starts or Walk(project, seed).best
    if wrong := faults_of(project, starts):
        raise SchedulingError(f"{project.name}: {wrong[0]}", remedy="report this with the file")
    length = makespan(project, starts)
    return Solved(starts, length, min(best.bound, length), monotonic() - begun)


class Best:
    """The best schedule and the best bound of all processes."""

    def __init__(self, project: Project) -> None:
        self.project, self.bound = project, least_makespan(project)
        self.starts: list[int] | None = None
        self.length = 0

    def take(self, starts: list[int] | None, bound: int) -> None:
        """Keep what is better."""
        self.bound = max(self.bound, bound)
        if starts is None:
            return
        length = makespan(self.project, starts)
        if self.starts is None or length < self.length:
            self.starts, self.length = starts, length

    @property
    def proven(self) -> bool:
        """True if nothing can be better."""
        return self.starts is not None and self.length <= self.bound

    @property
    def plain(self) -> bool:
        """True if no proof has said more than the longest path and the loads do."""
        return self.bound == least_makespan(self.project)

    @property
    def near(self) -> bool:
        """True if a proof may still be hoped for."""
        return self.length - self.bound <= (LUCK if self.plain else NEAR * self.length)


class Hand(NamedTuple):
    """A process and what it does."""

    process: SpawnProcess
    role: Role


class Team:
    """The processes at work on a project, by the end of the pipe they are heard on."""

    def __init__(self, project: Project, until: float, seed: int) -> None:
        self.project, self.until, self.seed = project, until, seed
        self.best, self.begun = Best(project), 0
        self.hands: dict[Connection, Hand] = {}

    def begin(self, role: Role) -> None:
        """Start a process with a seed of its own."""
        context = get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        seed = self.seed + OTHER_SEED * self.begun
        args = (role, self.project, self.until, seed, theirs)
        process = context.Process(target=run_child, args=args, daemon=True)
        process.start()
        theirs.close()
        self.hands[ours] = Hand(process, role)
        self.begun += 1

    def listen(self, until: float) -> None:
        """Take in schedules and bounds until then, or one is proven best, or all have ended."""
        while self.hands and not self.best.proven and monotonic() < until:
            ready = wait(list(self.hands), timeout=PAUSE)
            for end in [one for one in self.hands if one in ready]:
                self._hear(end)

    def _hear(self, end: Connection) -> None:
        """Take in one message; who has no more to say is followed by another, but for one that was killed."""
        try:
            self.best.take(*end.recv())
        except (EOFError, OSError):
            process = self.hands.pop(end).process
            process.join()
            if process.exitcode == 0 and monotonic() < self.until:
                self.begin(self.next_role())

    def next_role(self) -> Role:
        """What may help now: a proof from the other end of time, which takes one, luck all; or one more walk."""
        turned = any(hand.role is Role.PROVE_TURNED for hand in self.hands.values())
        if self.best.near and (self.best.plain or not turned):
            return Role.PROVE_TURNED
        return Role.WALK

    def give_up_proofs(self) -> None:
        """Where no bound was raised, try from the other end of time; where it is far away, walk."""
        if self.best.near and not self.best.plain:
            return
        role = Role.PROVE_TURNED if self.best.near else Role.WALK
        for end in [end for end, hand in self.hands.items() if hand.role not in {Role.WALK, role}]:
            _end(self.hands.pop(end).process)
            self.begin(role)

    def dismiss(self) -> None:
        """End all processes."""
        for hand in self.hands.values():
            _end(hand.process)


def _end(process: SpawnProcess) -> None:
    process.terminate()
    process.join()


def run_child(role: Role, project: Project, until: float, seed: int, out: Connection) -> None:
    """Walk or prove, from a list of its own; sends each better schedule and each better bound.

    Nobody begins where another has ended: walks would end in the same place, and the solver, which raises the
    bound until it is met, was seen to look for the last slot too close to a schedule that is a slot too long (of
    PSPLIB j6014_3, turned, none of twelve runs found it in 5 s, from a plain list three).
    """
    walk = Walk(project, seed)

    def told(starts: list[int] | None, bound: int) -> None:
        out.send((starts, bound))

    told(walk.best, 0)
    if role is Role.WALK:
        walk.run(Seconds(until), lambda starts: told(starts, 0))
    elif role is Role.PROVE:
        _prove(project, walk.best, until, seed, told)
    else:
        _prove_turned(project, walk.best, until, seed, told)


def _prove(
    project: Project,
    hint: list[int],
    until: float,
    seed: int,
    told: Callable[[list[int] | None, int], None],
) -> bool:
    """Let the solver find what is better, or prove that nothing is; True if it need not be asked again."""
    from jobs.scheduling.levelling import solve_project  # noqa: PLC0415 (not in the parent)

    outcome = solve_project(project, hint, Seconds(until), seed=seed, told=told)
    told(*outcome)
    return makespan(project, outcome.starts) == outcome.bound


def _prove_turned(
    project: Project,
    hint: list[int],
    until: float,
    seed: int,
    told: Callable[[list[int] | None, int], None],
) -> None:
    """Prove with time running backwards: several seeds a moment each, then, if a bound was raised, one to the end."""
    turned, least, highest = project.turned(), least_makespan(project), 0

    def told_turned(starts: list[int] | None, bound: int) -> None:
        nonlocal highest
        highest = max(highest, bound)
        told(starts if starts is None else mirrored(turned, starts), bound)

    hint, done = mirrored(project, hint), False
    while not done and (now := monotonic()) < until:
        end = until if highest > least else min(until, now + TRIAL)
        done = _prove(turned, hint, end, seed, told_turned)
        seed += OTHER_SEED
