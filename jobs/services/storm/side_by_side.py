"""Look for several ways out at the same time, each in a process of its own, so that none waits for another."""

from __future__ import annotations

from multiprocessing import get_context
from signal import SIG_IGN, SIGINT, signal
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.storm.replan import searched, ways_out
from jobs.scheduling.storm.ways_out import NoWay, Way
from jobs.services.planning.solve_world import Seconds

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

    from jobs.scheduling.storm.ways_out import Storm, WayOut

GRACE = 20.0
"""Seconds after its limit when a process is no longer waited for."""


class _Task(NamedTuple):
    storm: Storm
    way: Way
    until: float
    seed: int


def look_side_by_side(
    storm: Storm, ways: tuple[Way, ...], *, seconds: float, seed: int = 0
) -> tuple[WayOut | NoWay, ...]:
    """Return the ways asked for, as asked, each looked for until so many seconds from now.

    What a process needs to begin counts as spent. The first way is looked for here; so are those that
    need no search. A way whose process dies is told as not found.
    """
    until = monotonic() + seconds
    here, elsewhere = _shared_out(storm, ways)
    children = {way: _begin(_Task(storm, way, until, seed)) for way in elsewhere}
    try:
        found = {
            one.way: one
            for one in ways_out(storm, stop=lambda: Seconds(until), seed=seed, ways=here)
        }
        found |= {way: _heard(way, ours, until) for way, (_, ours) in children.items()}
    finally:
        for process, _ in children.values():
            process.terminate()
            process.join()
    return tuple(found[way] for way in ways)


def _shared_out(storm: Storm, ways: tuple[Way, ...]) -> tuple[tuple[Way, ...], tuple[Way, ...]]:
    """Return the ways to look for here, and those for other processes."""
    elsewhere = tuple(way for way in ways if searched(storm, way))[1:]
    return tuple(way for way in ways if way not in elsewhere), elsewhere


def _begin(task: _Task) -> tuple[SpawnProcess, Connection]:
    context = get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=look_alone, args=(task, theirs), daemon=True)
    process.start()
    theirs.close()
    return process, ours


def look_alone(task: _Task, out: Connection) -> None:
    """Look for one way in this process, and send it through a pipe."""
    signal(SIGINT, SIG_IGN)  # Ctrl-C is for the parent, which then ends its children
    ways = (task.way,)
    (found,) = ways_out(task.storm, stop=lambda: Seconds(task.until), seed=task.seed, ways=ways)
    try:
        out.send(found)
    except BrokenPipeError:
        return  # the parent is gone: nobody is left to tell


def _heard(way: Way, ours: Connection, until: float) -> WayOut | NoWay:
    """Return what a process sends, or that nothing came."""
    try:
        if ours.poll(max(0.0, until - monotonic()) + GRACE):
            told: WayOut | NoWay = ours.recv()
            return told
    except (EOFError, OSError):
        pass
    return NoWay(way, "the search for it broke off: ask again")
