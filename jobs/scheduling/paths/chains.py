"""What drives a work's date: from each work back to the one that binds it, as far as that goes."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from jobs.scheduling.fits import first_fit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from .late import Slack, Slip
    from .web import Step

NEAR_SLOTS = 8
"""Float up to which a chain counts as near-critical: two working days."""


def driving_chain(slack: Slack, slips: Sequence[Slip], last: int) -> tuple[int, ...]:
    """Return the works that drive a work, first one first and itself last.

    Each is the one that holds the next where it stands; the first one is held by no other work but
    by the calendar, its release, a date fixed by hand, or because it is done.
    """
    chain = [last]
    while True:
        step = binding_step(slack, slips, chain[-1])
        if step is None or step.before in chain:
            return tuple(reversed(chain))
        chain.append(step.before)


def binding_step(slack: Slack, slips: Sequence[Slip], i: int) -> Step | None:
    """Return the step that holds a work at its start; None if no other work does.

    Of several that hold it, a link before whatever is shared, then what can slip least.
    """
    if i in slack.ready.fixed:
        return None
    start, fits = slack.placed[i].start, _fitting(slack, i)
    if fits(slack.ready.floor[i], 0) >= start:
        return None
    tight = [step for step in slack.into[i] if _reach(slack, step, fits) == start]
    tight = [step for step in tight if step.before != i]
    return min(
        tight,
        key=lambda s: (
            s.kind == "at-most",
            s.kind != "link",
            slips[s.before].total,
            -slack.placed[s.before].end,
        ),
        default=None,
    )


def _fitting(slack: Slack, i: int) -> Callable[[int, int], int]:
    """Return a function: first start of a work if it starts and ends no earlier than told."""
    at, work = slack.placed[i], slack.ready.works[i]
    calendar = slack.calendars[i]
    slots = work.crews.get(at.crew, work.slots)
    day = slack.ready.per_day if work.one_go else 0
    return lambda start, end: first_fit(calendar, slots, start, end, day)[0]


def _reach(slack: Slack, step: Step, fits: Callable[[int, int], int]) -> int:
    """First start that a step alone would allow."""
    at = slack.placed[step.before]
    bound = step.forward[at.end if step.from_finish else at.start]
    return fits(0, bound) if step.to_finish else fits(bound, 0)


def near_chains(
    slack: Slack, slips: Sequence[Slip], critical: Sequence[int], works: Sequence[int]
) -> tuple[tuple[int, ...], ...]:
    """Chains of a job's works that have a little float, tightest first.

    Parameters
    ----------
    critical
        The job's critical chain; a near chain ends where it would run into it.
    works
        All works of the job.
    """
    left = {i for i in works if slips[i].total <= NEAR_SLOTS and i not in critical}
    left -= {i for i in left if i in slack.ready.fixed}
    ahead = _followers(slack, left)
    chains = []
    while left:
        chain = _longest_from(ahead, left, slips)
        chains.append(chain)
        left -= set(chain)
    return tuple(sorted(chains, key=lambda c: (min(slips[i].total for i in c), c)))


def _followers(slack: Slack, works: set[int]) -> dict[int, list[int]]:
    ahead: dict[int, list[int]] = defaultdict(list)
    for i in works:
        for step in slack.out[i]:
            if step.kind == "link" and step.after in works:
                ahead[i].append(step.after)
    return ahead


def _longest_from(
    ahead: dict[int, list[int]], left: set[int], slips: Sequence[Slip]
) -> tuple[int, ...]:
    """From the first work left, on along the tightest followers."""
    chain = [min(left, key=lambda i: (slips[i].start, i))]
    while True:
        onward = [i for i in ahead[chain[-1]] if i in left and i not in chain]
        if not onward:
            return tuple(chain)
        chain.append(min(onward, key=lambda i: (slips[i].total, slips[i].start, i)))
