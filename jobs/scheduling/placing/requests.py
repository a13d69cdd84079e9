"""Calls, orders and bookings are made when they are needed, not as soon as they could be.

Once everything else stands, each request moves as late as its followers allow, less one working day
in hand. Requests that take something up (a machine, ground, a way in) stay where they were built.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.scheduling.result import Placement

from .hurdles import ground_of
from .units import placements_on

if TYPE_CHECKING:
    from jobs.scheduling.ready import Ready

    from .board import Board
    from .hurdles import Ground
    from .ledger import Ledger

IN_HAND = 4
"""Working slots kept between a request and the last moment for it: one day."""


def pull_requests(board: Board) -> dict[int, Placement]:
    """Return all placements with the requests moved later, followers first."""
    ready, ledger = board.ready, board.ledger
    placed = placements_on(board)
    finish: dict[str, int] = {}
    for i, at in placed.items():
        work = ready.works[i]
        if work.counts:
            finish[work.job] = max(at.end, finish.get(work.job, at.end))
    for i in reversed(ready.order):
        work = ready.works[i]
        idle = not (work.crews or work.machines or work.keepouts or work.hauls)
        if work.request and idle and i not in ready.fixed:
            last = finish[work.job] if work.counts else ready.size - 1
            placed[i] = _pulled(ready, ledger, placed, i, last)
    return placed


def _pulled(
    ready: Ready, ledger: Ledger, placed: dict[int, Placement], i: int, last: int
) -> Placement:
    at, option = placed[i], ready.options[i][0]
    limits = _limits(ready, placed, i)
    if limits is None:
        return at
    calendar, slots = option.calendar, option.slots
    latest = min(
        calendar.before(limits[0] + 1) - 1,
        calendar.before(min(limits[1], last, ready.last[i]) + 1) - slots,
    )
    ground, least = ground_of(ledger, i), calendar.before(at.start)
    for place in range(latest - IN_HAND, least, -1):
        found = Placement(calendar.open[place], calendar.open[place + slots - 1])
        if _stands(ready, i, found, ground):
            return found
    return at


def _limits(ready: Ready, placed: dict[int, Placement], i: int) -> tuple[int, int] | None:
    """Last start and last end that followers and own at-mosts allow; None if nothing follows."""
    start, end, followed = ready.size - 1, ready.size - 1, False
    for j in ready.after[i]:
        for bind in ready.binds(j, placed[j].crew):
            if bind.before != i:
                continue
            followed = True
            bound = bind.latest_event[placed[j].end if bind.to_finish else placed[j].start]
            if bind.from_finish:
                end = min(end, bound)
            else:
                start = min(start, bound)
    for bind in ready.binds(i, placed[i].crew):
        if bind.latest is not None:
            at = placed[bind.before]
            bound = bind.latest[at.end if bind.from_finish else at.start]
            if bind.to_finish:
                end = min(end, bound)
            else:
                start = min(start, bound)
    return (start, end) if followed else None


def _stands(ready: Ready, i: int, at: Placement, ground: Ground) -> bool:
    """Return True if a request may stand in a place: on one day if it must, off resting ground."""
    if ready.works[i].one_go and at.start // ready.per_day != at.end // ready.per_day:
        return False
    if ground.bits >> at.start & ((1 << (at.end + 1 - at.start)) - 1):
        return False
    return not any(at.start <= before and at.end >= after for before, after in ground.gaps)
