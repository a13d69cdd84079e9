"""Reads and solves published project files: single-mode, as the PSPLIB library writes them."""

from __future__ import annotations

from multiprocessing import get_context
from multiprocessing.connection import wait
from time import monotonic
from typing import TYPE_CHECKING, Any, NamedTuple

from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.result import Status
from jobs.scheduling.search.project import (
    Project,
    Walk,
    faults_of,
    least_makespan,
    makespan,
    mirrored,
)
from jobs.services.planning.solve_world import GRACE, OTHER_SEED, PAUSE, Seconds

from .file_fault import FileFaultError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess
    from pathlib import Path

    from jobs.scheduling.budget import Budget

WALK, PROOF = 0.03, 0.9
"""Shares of the time at which the process that proves leaves lists for the solver, and comes back to them."""
LARGEST = 100_000
"""Largest duration or request that is read: larger ones are slips of the pen."""
COUNTS = {"jobs (incl. supersource/sink )": "activities", "- renewable": "resources"}
"""Lines at the head of a file that say how much of something follows."""
HEADS = ("PRECEDENCE RELATIONS", "REQUESTS/DURATIONS", "RESOURCEAVAILABILITIES")


class Row(NamedTuple):
    """A line of whole numbers, and where it stands."""

    line: int
    numbers: list[int]


def read_project(path: Path) -> Project:
    """Read a single-mode ``.sm`` file.

    Raises
    ------
    FileFaultError
        With the line and what was expected there.
    """
    try:
        lines = path.read_text("ascii", errors="replace").splitlines()
    except OSError as error:
        raise FileFaultError(path, 0, "a file that can be read", str(error.strerror)) from error
    links, needs, most = (list(_section(path, lines, head)) for head in HEADS)
    if len(links) != len(needs):
        expected = f"{len(links)} activities, as many as there are relations"
        raise FileFaultError(path, needs[-1].line, expected, str(len(needs)))
    capacities = tuple(most[0].numbers)
    _check_counts(path, lines, {"activities": len(links), "resources": len(capacities)})
    for number, (link, need) in enumerate(zip(links, needs, strict=True), start=1):
        _check(path, number, len(links), link)
        _check_need(path, number, len(capacities), need)
    try:
        return Project(
            name=path.stem,
            durations=tuple(row.numbers[2] for row in needs),
            after=tuple(tuple(j - 1 for j in row.numbers[3:]) for row in links),
            demands=tuple(tuple(row.numbers[3:]) for row in needs),
            capacities=capacities,
        )
    except SchedulingError as error:
        raise FileFaultError(path, links[0].line, error.remedy, error.reason) from error


def _section(path: Path, lines: list[str], head: str) -> Iterator[Row]:
    """Yield the rows of whole numbers under a heading; refuse a section that is not there."""
    start = next((n for n, line in enumerate(lines) if line.startswith(head)), None)
    if start is None:
        raise FileFaultError(path, len(lines), f"a section {head}", "the end of the file")
    found = 0
    for n, line in enumerate(lines[start + 1 :], start=start + 2):
        if line.startswith("*"):
            break
        fields = line.split()
        if fields and all(field.isdecimal() for field in fields):
            found += 1
            yield Row(n, [int(field) for field in fields])
        elif fields and fields[0].isdecimal():
            raise FileFaultError(path, n, "whole numbers", line.strip())
    if not found:
        raise FileFaultError(path, start + 1, f"rows of numbers under {head}", "none")


def _check_counts(path: Path, lines: list[str], counts: Mapping[str, int]) -> None:
    """What the head of a file says of its counts, where it says so, is what follows."""
    for n, line in enumerate(lines, start=1):
        name, _, told = line.partition(":")
        what = COUNTS.get(name.strip())
        if what is not None and told.split()[:1] != [str(counts[what])]:
            raise FileFaultError(
                path, n, f"{what}: {counts[what]}, as many as follow", told.strip()
            )


def _check(path: Path, number: int, count: int, row: Row) -> None:
    """A relation row: number, one mode, how many followers, the followers."""
    found = row.numbers
    good = len(found) >= 3 and found[:2] == [number, 1] and len(found) == 3 + found[2]  # noqa: PLR2004 (number, modes, count)
    if not good or not all(1 <= j <= count for j in found[3:]):
        expected = f"activity {number}, 1 mode, a count and so many followers from 1 to {count}"
        raise FileFaultError(path, row.line, expected, " ".join(map(str, found)))


def _check_need(path: Path, number: int, resources: int, row: Row) -> None:
    """A request row: number, mode 1, duration, units of each resource."""
    found = row.numbers
    if found[:2] != [number, 1] or len(found) != 3 + resources or max(found) > LARGEST:
        expected = (
            f"activity {number}, mode 1, a duration and {resources} requests, each to {LARGEST:,}"
        )
        raise FileFaultError(path, row.line, expected, " ".join(map(str, found)))


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


def solve_file(path: Path, *, limit: float, workers: int, seed: int) -> dict[str, Any]:
    """Solve one file and return its line of JSON; the schedule is checked against the file."""
    project = read_project(path)
    solved = solve(project, limit=limit, workers=workers, seed=seed)
    return {
        "instance": project.name,
        "makespan": solved.makespan,
        "bound": solved.bound,
        "status": solved.status.value,
        "seconds": round(solved.seconds, 3),
        "starts": {str(i + 1): start for i, start in enumerate(solved.starts)},
    }


def solve(project: Project, *, limit: float, workers: int, seed: int) -> Solved:
    """Solve a project in processes of their own: one proves, the others walk; the best of all counts.

    Raises
    ------
    SchedulingError
        If the schedule breaks the project: nothing is given out that was not checked.
    """
    begun = monotonic()
    context = get_context("spawn")
    children = {}
    for n in range(max(1, workers)):
        ours, theirs = context.Pipe(duplex=False)
        args = (project, begun + limit, seed + OTHER_SEED * n, n == 0, theirs)
        process = context.Process(target=run_child, args=args, daemon=True)
        process.start()
        theirs.close()
        children[ours] = process
    best = _Best(project)
    _listen(best, dict(children), begun + limit + GRACE)
    for process in children.values():
        process.terminate()
        process.join()
    starts = best.starts or Walk(project, seed).best
    if wrong := faults_of(project, starts):
        raise SchedulingError(f"{project.name}: {wrong[0]}", remedy="report this with the file")
    length = makespan(project, starts)
    return Solved(starts, length, min(best.bound, length), monotonic() - begun)


class _Best:
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


def _listen(best: _Best, children: dict[Connection, SpawnProcess], until: float) -> None:
    """Take in schedules until all have ended, or one is proven best."""
    while children and not best.proven and monotonic() < until:
        ready = wait(list(children), timeout=PAUSE)
        for end in [one for one in children if one in ready]:
            try:
                best.take(*end.recv())
            except (EOFError, OSError):
                del children[end]


def run_child(project: Project, until: float, seed: int, proves: bool, out: Connection) -> None:  # noqa: FBT001 (called by position in another process)
    """Walk over lists and call the solver in between; sends each better schedule.

    Who proves leaves lists almost at once; who walks, only when that hardly finds anything any more. Then
    it has time run backwards for the solver: which way proves sooner differs by project.
    """
    budget = Seconds(until)
    walk = Walk(project, seed)
    out.send((walk.best, 0))

    def found(starts: list[int]) -> None:
        out.send((starts, 0))

    walk.run(budget.part(WALK) if proves else budget, found)
    _solve(walk, budget.part(PROOF) if proves else budget, seed, out, turned=not proves)
    walk.run(budget, found)


def _solve(walk: Walk, budget: Budget, seed: int, out: Connection, *, turned: bool) -> None:
    """Let the solver find what is better, or prove that nothing is, with time running backwards if turned."""
    from jobs.scheduling.levelling import solve_project  # noqa: PLC0415 (not in the parent)

    if budget() or walk.length == least_makespan(walk.project):
        return
    project = walk.project.turned() if turned else walk.project
    hint = mirrored(walk.project, walk.best) if turned else walk.best

    def told(starts: list[int] | None, bound: int) -> None:
        if starts is not None:
            starts = mirrored(project, starts) if turned else starts
            walk.take(starts)
        out.send((starts, bound))

    told(*solve_project(project, hint, budget, seed=seed, told=told))
