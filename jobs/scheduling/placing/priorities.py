"""Which work is placed first: priority rules, lower comes first.

Each rule reads the network alone. None is best for all yards, so the builder tries them all and keeps the
best plan by its score.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.fits import first_fit, last_fit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from jobs.scheduling.paths.early import Early
    from jobs.scheduling.ready import Ready

NO_PROMISE = 240
"""Slots after its network's finish by which a job without a promise is aimed at: forty days."""


class Facts(NamedTuple):
    """What rules read: early dates, late starts and finishes by the links alone, and targets.

    Attributes
    ----------
    tail
        Slots from the late start of each work to the finish of its job.
    target
        By job, the slot its finish is aimed at.
    """

    ready: Ready
    early: Early
    tail: list[int]
    finish: Mapping[str, int]
    target: Mapping[str, int]


def facts_of(ready: Ready, early: Early) -> Facts:
    """Read a network for the rules."""
    finish: dict[str, int] = {}
    for i, work in enumerate(ready.works):
        finish[work.job] = max(finish.get(work.job, 0), early.end[i])
    jobs = ready.world.jobs
    target = {
        name: end + NO_PROMISE if (promise := jobs[name].promise) is None else promise
        for name, end in finish.items()
    }
    late = late_starts(ready, early, finish)
    tail = [finish[w.job] - start for w, start in zip(ready.works, late, strict=True)]
    return Facts(ready, early, tail, finish, target)


def late_starts(ready: Ready, early: Early, finish: Mapping[str, int]) -> list[int]:
    """Return by when each work must start for its job to be done as soon as its network is.

    By the links alone, at-mosts left aside, with the crew that would be done first.
    """
    end = [min(ready.last[i], finish[work.job]) for i, work in enumerate(ready.works)]
    start = end[:]
    for i in reversed(ready.order):
        if i in ready.fixed:
            start[i], end[i] = early.start[i], early.end[i]
        else:
            start[i], end[i] = _latest(ready, early, i, (start[i], end[i]))
        binds, options = ready.into[i], ready.options[i]
        for bind in [*binds, *options[0].binds] if options else binds:
            bound = bind.latest_event[end[i] if bind.to_finish else start[i]]
            events = end if bind.from_finish else start
            events[bind.before] = min(events[bind.before], bound)
    return start


def _latest(ready: Ready, early: Early, i: int, within: tuple[int, int]) -> tuple[int, int]:
    """Latest place of a work within bounds, no sooner than its early dates."""
    day = ready.per_day if ready.works[i].one_go else 0
    low = early.start[i], early.end[i]
    able = ready.distinct[i]
    soonest = able[0]
    if len(able) > 1:
        soonest = min(able, key=lambda o: first_fit(o.calendar, o.slots, *low, day)[1])
    first, last = last_fit(soonest.calendar, soonest.slots, *within, day)
    return max(first, early.start[i]), max(last, early.end[i])


def by_late_start(facts: Facts) -> list[float]:
    """Whatever must start soonest for its job to keep its promise."""
    works = facts.ready.works
    return [facts.target[w.job] - tail for w, tail in zip(works, facts.tail, strict=True)]


def by_weighted_slack(facts: Facts) -> list[float]:
    """The same, with heavy jobs that are tight taken first."""
    jobs, found = facts.ready.world.jobs, []
    for work, tail in zip(facts.ready.works, facts.tail, strict=True):
        slack, weight = facts.target[work.job] - facts.finish[work.job], jobs[work.job].weight
        pull = slack / weight if slack > 0 else slack * weight
        found.append(facts.finish[work.job] - tail + pull)
    return found


def by_longest_tail(facts: Facts) -> list[float]:
    """What has the most still to come after it."""
    return [float(-tail) for tail in facts.tail]


def by_followers(facts: Facts) -> list[float]:
    """What the most other works wait for, directly or not."""
    ready = facts.ready
    beyond = [0] * len(ready.works)
    for i in reversed(ready.order):
        bits = 0
        for j in ready.after[i]:
            bits |= 1 << j | beyond[j]
        beyond[i] = bits
    return [float(-bits.bit_count()) for bits in beyond]


def by_early_start(facts: Facts) -> list[float]:
    """What could start soonest."""
    return [float(start) for start in facts.early.start]


def by_job(facts: Facts) -> list[float]:
    """One job after another, the soonest promised first."""
    size = facts.ready.size
    return [
        facts.target[w.job] * size + facts.finish[w.job] - tail
        for w, tail in zip(facts.ready.works, facts.tail, strict=True)
    ]


RULES: Mapping[str, Callable[[Facts], list[float]]] = {
    "late start": by_late_start,
    "weighted slack": by_weighted_slack,
    "longest tail": by_longest_tail,
    "most followers": by_followers,
    "early start": by_early_start,
    "job by job": by_job,
}
"""By name, in the order in which they are tried."""
