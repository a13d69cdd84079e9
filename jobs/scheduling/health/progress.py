"""Checks of how a schedule holds: what was missed, how fast work is done, and whether its path is a path.

Thresholds are those of the fourteen-point assessment of DCMA-EA PAM 200.1 (read in summaries).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.placing.repair import push_right

from .case import Check, Unit, Verdict, share_at_most

if TYPE_CHECKING:
    from jobs.scheduling.world import Work

    from .case import Case

MOST_MISSED = 5
"""Percent of what was due."""
LEAST_INDEX = 0.95
"""Of work done against work due; each check names its source."""
HOURS_A_DAY = 8
DELAY_DAYS = 20
"""Working days by which the critical-path test holds a critical work up: four weeks."""
NEAR_ENOUGH = 2
"""Working days by which the finish may move less: waits and days off fall elsewhere."""
HUNDREDTHS = 100


def missed(case: Case) -> Check:
    """Few works were done later than they were first published to be."""
    due = [it for it in case.due if case.job in ("", case.world.works[it.work].job)]
    found = [
        case.about(case.world.works[it.work], "missed" if it.finished else "missed-open")
        for it in due
        if it.finished is None or it.finished > it.due
    ]
    source = "DCMA-EA PAM 200.1, check 11 (from memory)"
    return share_at_most("missed", found, len(due), MOST_MISSED, source)


def critical_path_test(case: Case, days: int = DELAY_DAYS) -> Check:
    """Hold up one work of each critical path by some working days: the finish must move as much, at least.

    It moves further where what follows then meets days off, a closed season or another yard's turn: such a path holds.

    Parameters
    ----------
    days
        Working days; a whole number of weeks, so that weekends fall alike.
    """
    found, tested, least = [], 0, float(days)
    for job in case.jobs():
        work = _critical(case, job)
        moved = None if work is None else finish_moved(case, work, days)
        if work is None or moved is None:
            continue
        tested += 1
        least = min(least, moved)
        if days - moved > NEAR_ENOUGH:
            found.append(case.about(work, "path-test", days=days, moved=int(moved)))
    verdict = Verdict.FAILS if found else Verdict.PASSES if tested else Verdict.NOTHING
    return Check(
        "path-test",
        verdict,
        Unit.DAYS,
        least if tested else 0.0,
        days,
        tested,
        "DCMA-EA PAM 200.1, check 12 (from memory)",
        tuple(found),
    )


def finish_moved(case: Case, work: Work, days: int) -> float | None:
    """Working days by which a job's finish moves if a work of it begins so many working days later.

    Everything keeps its crew and its order. None if that does not fit the days that are planned.
    """
    usual = case.usual(work.job)
    start = case.plan[work.id].start
    later = usual.nth(usual.before(start) + days * case.day_slots(work.job))
    held = replace(work, pin=replace(work.pin, not_before=later, not_after=None))
    world = replace(case.world, works={**case.world.works, work.id: held})
    try:
        pushed = push_right(world, case.plan.placements)
    except NoPlan:
        return None
    slots = usual.count(case.finish(work.job) + 1, case.finish(work.job, pushed))
    return slots / case.day_slots(work.job)


def _critical(case: Case, job: str) -> Work | None:
    """The first work of a job's critical chain that has not begun."""
    for name in case.network.chains[job]:
        work = case.world.works[name]
        if work.job == job and work.done is None and not work.request:
            return work
    return None


def path_length(case: Case) -> Check:
    """Length index: what is left of the longest path, with the room before the promise, over itself.

    A job with 60 working days to go and a promise 3 days sooner has (60 - 3) / 60 = 0.95 and passes.
    """
    found, values = [], []
    for job in case.jobs():
        hours = case.network.promise_float(job)
        length = case.usual(job).count(case.world.now, case.finish(job)) if hours is not None else 0
        if hours is None or length <= 0:
            continue
        whole = length / case.day_slots(job)
        values.append((whole + hours / HOURS_A_DAY) / whole)
        if values[-1] < LEAST_INDEX:
            found.append(case.about_job(job, "path-length", days=-round(hours / HOURS_A_DAY)))
    verdict = Verdict.FAILS if found else Verdict.PASSES if values else Verdict.NOTHING
    return Check(
        "path-length",
        verdict,
        Unit.RATIO,
        min(values, default=0.0),
        LEAST_INDEX,
        len(values),
        "DCMA-EA PAM 200.1, check 13",
        tuple(found),
    )


def pace(case: Case) -> Check:
    """Execution index: of the works first published to be done by now, the share that is done."""
    due = [it for it in case.due if case.job in ("", case.world.works[it.work].job)]
    left = [it for it in due if it.finished is None]
    passes = HUNDREDTHS * (len(due) - len(left)) >= round(HUNDREDTHS * LEAST_INDEX) * len(due)
    return Check(
        "pace",
        Verdict.NOTHING if not due else Verdict.PASSES if passes else Verdict.FAILS,
        Unit.RATIO,
        (len(due) - len(left)) / len(due) if due else 0.0,
        LEAST_INDEX,
        len(due),
        "DCMA-EA PAM 200.1, check 14",
        tuple(case.about(case.world.works[it.work], "missed-open") for it in left),
    )
