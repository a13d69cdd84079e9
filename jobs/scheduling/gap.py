"""How far a plan may be from the best possible, as a share that does not depend on where the axis begins."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .result import Score
    from .world import World


def gap_of(world: World, score: Score, bound: Score) -> float | None:
    """Return by how many percent all jobs together take longer than is proven to be needed.

    Each job is counted from the first slot it may be worked in to its finish. None where it is not proven
    that as many promises must be missed: then finishes say nothing about how good a plan is.
    """
    if score.late != bound.late:
        return None
    jobs = {work.job for work in world.works.values() if work.counts}
    begins = sum(max(world.now, world.jobs[job].release) for job in jobs)
    needed = bound.finish - begins + len(jobs)
    return 100 * (score.finish - bound.finish) / needed if needed > 0 else None
