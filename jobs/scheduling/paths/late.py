"""Late dates: how far each work can slip while every crew and every finish stays.

From the finishes back through all steps (links and the order in which things are shared), dates
only ever fall until all steps agree. They never fall below the dates given, which agree already.
"""

from __future__ import annotations

from collections import defaultdict, deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.fits import last_fit

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from jobs.scheduling.calendars import Calendar
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement

    from .web import Step


class Slip(NamedTuple):
    """How far a work can slip: late dates, and the float in working slots of its own calendar.

    ``free`` is the last slot it may be done in with nothing else moved.
    """

    start: int
    end: int
    free: int
    total: int


@dataclass(frozen=True)
class Slack:
    """Works with their dates, tied together by steps.

    Attributes
    ----------
    limit
        Last slot in which each work may end, whatever follows.
    calendars
        Slots each work may be done in where it stands.
    into, out
        Steps by the work they come to and by the one they go from.
    """

    ready: Ready
    placed: Sequence[Placement]
    steps: tuple[Step, ...]
    limit: list[int] = field(init=False)
    calendars: list[Calendar] = field(init=False, repr=False)
    into: dict[int, list[Step]] = field(init=False)
    out: dict[int, list[Step]] = field(init=False)

    def __post_init__(self) -> None:
        """Sort the steps."""
        into: dict[int, list[Step]] = defaultdict(list)
        out: dict[int, list[Step]] = defaultdict(list)
        for step in self.steps:
            into[step.after].append(step)
            out[step.before].append(step)
        object.__setattr__(self, "into", into)
        object.__setattr__(self, "out", out)
        object.__setattr__(self, "limit", list(limits(self.ready, self.placed)))
        held = [self.ready.held(i, at) for i, at in enumerate(self.placed)]
        object.__setattr__(self, "calendars", held)

    def slips(self) -> list[Slip]:
        """Return late dates and float of all works, by number."""
        late = self.late()
        given = [(at.start, at.end) for at in self.placed]
        return [self._slip(i, late[i], given) for i in range(len(self.placed))]

    def _slip(self, i: int, late: tuple[int, int], given: Sequence[tuple[int, int]]) -> Slip:
        at = self.placed[i]
        calendar = self.calendars[i]
        _, free = self._bounded(i, given)
        total = calendar.before(late[1] + 1) - calendar.before(at.end + 1)
        return Slip(*late, min(max(free, at.end), late[1]), total)

    def late(self) -> list[tuple[int, int]]:
        """Return late start and late end of all works, by number."""
        placed = self.placed
        late = [self._alone(i) for i in range(len(placed))]
        queue = deque(sorted(range(len(placed)), key=lambda i: (-placed[i].end, -placed[i].start)))
        waiting = [True] * len(placed)
        while queue:
            i = queue.popleft()
            waiting[i] = False
            found = self._bounded(i, late)
            if found != late[i]:
                late[i] = found
                for step in self.into[i]:
                    if not waiting[step.before]:
                        waiting[step.before] = True
                        queue.append(step.before)
        return late

    def _alone(self, i: int) -> tuple[int, int]:
        """Latest dates of a work by its own limit; what is done stays."""
        done = self.ready.works[i].done
        if done is not None and done.end is not None:
            return self.placed[i].start, self.placed[i].end
        return self._fit(i, self.ready.size - 1, self.limit[i])

    def _bounded(self, i: int, dates: Sequence[tuple[int, int]]) -> tuple[int, int]:
        """Latest dates of a work by its limit and by what follows it."""
        done = self.ready.works[i].done
        if done is not None and done.end is not None:
            return self.placed[i].start, self.placed[i].end
        start, end = self.ready.size - 1, self.limit[i]
        for step in self.out[i]:
            bound = step.back[dates[step.after][step.to_finish]]
            if step.from_finish:
                end = min(end, bound)
            else:
                start = min(start, bound)
        return self._fit(i, start, end)

    def _fit(self, i: int, start: int, end: int) -> tuple[int, int]:
        """Latest place within bounds, never sooner than the dates given."""
        at, work = self.placed[i], self.ready.works[i]
        calendar = self.calendars[i]
        if work.done is not None:
            return at.start, max(at.end, calendar.at_or_before(end))
        slots = work.crews.get(at.crew, work.slots)
        day = self.ready.per_day if work.one_go else 0
        first, last = last_fit(calendar, slots, start, end, day)
        return max(first, at.start), max(last, at.end)


def limits(ready: Ready, placed: Sequence[Placement]) -> Iterable[int]:
    """Yield the last slot each work may end in for its job to finish as it does."""
    finish: dict[str, int] = {}
    for work, at in zip(ready.works, placed, strict=True):
        if work.counts:
            finish[work.job] = max(at.end, finish.get(work.job, at.end))
    for i, at in enumerate(placed):
        end = max(at.end, finish.get(ready.works[i].job, at.end))
        yield min(end, max(ready.last[i], at.end))
