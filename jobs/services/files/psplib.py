"""Reads and solves published project files: single-mode, as the PSPLIB library writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from jobs.scheduling.errors import SchedulingError
from jobs.scheduling.search.project import Project
from jobs.services.planning.solve_project import solve

from .file_fault import FileFaultError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

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
