"""Early dates on the slot axis: links, calendars and pins only, nobody in anybody's way.

A start and an end are each the soonest that any able crew could manage, so no plan has sooner ones.
An at-most works backwards: what must be followed soon cannot come long before its follower can. Dates
only ever rise until all links agree; if they rise off the axis there is a ring that cannot be kept.
"""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

from jobs.scheduling.begun import off_axis
from jobs.scheduling.binds import raised
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.fits import first_fit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from jobs.scheduling.binds import Bind, Option
    from jobs.scheduling.ready import Ready


LAPS = 3
"""Times a work must come back in what drives it to be part of a ring: twice may be a closed day."""


@dataclass(frozen=True, slots=True)
class Early:
    """Early first and last slot of each work, by number."""

    start: list[int]
    end: list[int]


def early_dates(ready: Ready) -> Early:
    """Find the soonest dates that all links allow.

    Raises
    ------
    NoPlan
        If a work cannot be done within the axis, by the slot it was fixed to end by, or within an
        at-most; the culprits are the works that hold it there.
    """
    early, over = _risen(ready)
    if over is not None:
        raise _refusal(ready, over)
    _check_facts(ready, early)
    return early


def _risen(
    ready: Ready, told: Callable[[Early, int], None] = lambda *_: None
) -> tuple[Early, int | None]:
    """Raise dates until all links agree, or a work would end too late: then that work, too.

    ``told`` is called with every work whose dates are about to rise.
    """
    count = len(ready.works)
    early = Early([0] * count, [0] * count)
    for i, at in ready.fixed.items():
        early.start[i], early.end[i] = at.start, at.end
    queue, waiting = deque(ready.order), [True] * count
    while queue:
        i = queue.popleft()
        waiting[i] = False
        if i in ready.fixed:
            continue
        start, end = _soonest(ready, early, i)
        if (start, end) == (early.start[i], early.end[i]):
            continue
        told(early, i)
        if end > ready.last[i]:
            return early, i
        early.start[i], early.end[i] = start, end
        for j in _concerned(ready, i):
            if not waiting[j]:
                waiting[j] = True
                queue.append(j)
    return early, None


def _concerned(ready: Ready, i: int) -> list[int]:
    """Works whose dates may have to rise with those of a work."""
    befores = [bind.before for bind in ready.late[i]]
    return [j for j in (*ready.after[i], *befores) if j not in ready.fixed]


def _soonest(ready: Ready, early: Early, i: int) -> tuple[int, int]:
    """Soonest start and soonest end of any able crew."""
    low = raised((ready.floor[i], 0), ready.pulls[i], early.start, early.end)
    if ready.back[i]:
        low = _before_links(early, ready.back[i], low)
    day = ready.per_day if ready.works[i].one_go else 0
    places = [_by_crew(early, option, low, day) for option in ready.distinct[i]]
    if len(places) == 1:
        return places[0]
    return min(start for start, _ in places), min(end for _, end in places)


def _by_crew(early: Early, option: Option, low: tuple[int, int], day: int) -> tuple[int, int]:
    if option.binds:
        low = raised(low, option.pulls, early.start, early.end)
    return first_fit(option.calendar, option.slots, *low, day)


def _before_links(early: Early, binds: Sequence[Bind], low: tuple[int, int]) -> tuple[int, int]:
    """Raise least start and least end to what followers with an at-most need."""
    start, end = low
    for bind in binds:
        event = (early.end if bind.to_finish else early.start)[bind.after]
        if bind.earliest_event is None:
            continue
        bound = bind.earliest_event[event]
        if bind.from_finish:
            end = max(end, bound)
        else:
            start = max(start, bound)
    return start, end


def _check_facts(ready: Ready, early: Early) -> None:
    """What must follow soon on work that has begun may be too late already."""
    for i in ready.fixed:
        for bind in ready.back[i]:
            event = (early.end if bind.from_finish else early.start)[i]
            follows = (early.end if bind.to_finish else early.start)[bind.after]
            if bind.latest is not None and follows > bind.latest[event]:
                a, b = ready.works[i], ready.works[bind.after]
                raise NoPlan(
                    f"{b.name} can no longer follow {a.name} as soon as it must",
                    remedy="allow more time between them, or log what was done about it",
                    culprits=(a.id, b.id),
                )


def _refusal(ready: Ready, over: int) -> NoPlan:
    """Name the ring, or else the chain, that drives a work later than it may end."""
    chain = _driven(ready)
    ring = _ring(chain)
    if ring:
        names = " - ".join(ready.works[j].name for j in ring)
        return NoPlan(
            f"{names} cannot all keep the least and the most time between them",
            remedy="allow more time between two of them, or shorten a wait",
            culprits=tuple(ready.works[j].id for j in ring),
        )
    ids = tuple(ready.works[j].id for j in dict.fromkeys(chain[::-1]))
    work = ready.works[over]
    if work.pin.not_after is None:
        plain = off_axis(work)
        return NoPlan(plain.reason, remedy=plain.remedy, culprits=ids)
    return NoPlan(
        f"{work.name} cannot end as early as it was fixed to by hand",
        remedy="move that date, or let what comes before it begin sooner",
        culprits=ids,
    )


def _driven(ready: Ready) -> list[int]:
    """What drove the work that ends too late: from it back, rise by rise, to what nothing drove."""
    rises: list[tuple[int, int]] = []
    newest: dict[int, int] = {}

    def note(early: Early, i: int) -> None:
        rises.append((i, newest.get(_driver(ready, early, i), -1)))
        newest[i] = len(rises) - 1

    _risen(ready, note)
    chain, rise = [], len(rises) - 1
    while rise >= 0:
        work, rise = rises[rise]
        chain.append(work)
    return chain


def _ring(chain: Sequence[int]) -> list[int]:
    """Members of a ring that drives itself later lap by lap, in the order of their links; or none.

    Of what comes back again and again, what comes back least often does so once a lap.
    """
    times = Counter(chain)
    again = [i for i in times if times[i] >= LAPS]
    if not again:
        return []
    once = min(again, key=times.__getitem__)
    first = chain.index(once)
    lap = chain[first : chain.index(once, first + 1)]
    return list(dict.fromkeys(lap[::-1]))


def _driver(ready: Ready, early: Early, i: int) -> int:
    """Return the work whose link pushes a work furthest; -1 if none pushes it at all."""
    best, found = (ready.floor[i], 0), -1
    day = ready.per_day if ready.works[i].one_go else 0
    if i in ready.fixed:
        return found
    option = min(ready.options[i], key=lambda o: first_fit(o.calendar, o.slots, *best, day)[1])
    reach = first_fit(option.calendar, option.slots, *best, day)[0]
    for bind in ready.binds(i, option.crew):
        low = raised(best, [bind.pull], early.start, early.end)
        start, _ = first_fit(option.calendar, option.slots, *low, day)
        if start > reach:
            reach, found = start, bind.before
    for bind in ready.back[i]:
        low = _before_links(early, [bind], best)
        start, _ = first_fit(option.calendar, option.slots, *low, day)
        if start > reach:
            reach, found = start, bind.after
    return found
