"""What no plan can beat: a lower bound on the score, from the links and from each crew's load."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from jobs.scheduling.result import Score

from .published import upset_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobs.scheduling.paths.early import Early
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import Job, World


def lower_bound(ready: Ready, early: Early) -> Score:
    """Return a score that no sound plan of a world goes below.

    A job is done no sooner than its network; nor before a crew has done, one after the other, what
    none but it can do there.
    """
    ends: dict[str, int] = {}
    for i, work in enumerate(ready.works):
        if work.counts:
            ends[work.job] = max(early.end[i], ends.get(work.job, early.end[i]))
    for (job, _, _), works in _only(ready).items():
        ends[job] = max(ends[job], _load(ready, early, works))
    return score_ends(ready.world, ends)


def _only(ready: Ready) -> dict[tuple[str, str, str], list[int]]:
    """Counted works that have not begun, by job, by the one crew that can do them, by shift."""
    found: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for i, work in enumerate(ready.works):
        options = ready.options[i]
        if work.counts and len(options) == 1 and options[0].crew:
            found[work.job, options[0].crew, work.shift].append(i)
    return found


def _load(ready: Ready, early: Early, works: Sequence[int]) -> int:
    """Soonest end of the last of some works that one crew does one after the other."""
    bits = 0
    for i in works:
        bits |= ready.options[i][0].calendar.bits
    calendar, slots, end = ready.calendar(bits), 0, 0
    for i in sorted(works, key=lambda i: -early.start[i]):
        slots += ready.options[i][0].slots
        end = max(end, calendar.end(early.start[i], slots))
    return end


def score_plan(ready: Ready, placed: Mapping[int, Placement]) -> Score:
    """Score placements by number of work."""
    ends: dict[str, int] = {}
    for i, at in placed.items():
        work = ready.works[i]
        if work.counts:
            ends[work.job] = max(at.end, ends.get(work.job, at.end))
    names = {ready.works[i].id: at for i, at in placed.items()}
    return score_ends(ready.world, ends)._replace(upset=upset_of(ready.world, names))


def score_ends(world: World, ends: Mapping[str, int]) -> Score:
    """Score the last counted slots of some jobs."""
    late = sum(
        days_late(world, world.jobs[job], end) * world.jobs[job].weight for job, end in ends.items()
    )
    return Score(late=late, finish=sum(ends.values()))


def days_late(world: World, job: Job, end: int) -> int:
    """Calendar days from a job's promised day to the day of a slot; 0 if not late or not promised."""
    if job.promise is None:
        return 0
    per_day = world.axes[job.zone].per_day
    return max(0, end // per_day - job.promise // per_day)
