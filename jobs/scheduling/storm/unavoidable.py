"""Crew-days that any plan must change: groups of days that crews cannot all spend as they were told.

Suppose that on some days some crews go to the yards they were told, and to no other. Then a yard's works are done
on those visits, or by others, or on other days; and links, cures and calendars alone may leave a visit with nothing
that could be done on it. So not all of these crew-days can stay as published, in no plan whatever. The groups found
in this way have no crew-day in common: at least one change counts for each.

Nothing is used but what every sound plan keeps: a work takes the first slots open to it, after its forerunners.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.upset import counted_days, tours

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from jobs.scheduling.binds import Bind
    from jobs.scheduling.calendars import Calendar
    from jobs.scheduling.crew_days import CrewDay
    from jobs.scheduling.ready import Ready
    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import World

PARTS = 4
"""Parts that a group is cut into to be made small; then parts of those, down to single days."""


def must_change(
    ready: Ready, before: World, published: Mapping[str, Placement], last_lost: int
) -> tuple[frozenset[CrewDay], ...]:
    """Return groups without a crew-day in common; in each at least one changes in every sound plan.

    Parameters
    ----------
    ready
        The world with the time lost.
    before
        The same world without it, in which the published plan stood.
    last_lost
        Number on the axis of the last day lost; changes count after it.
    """
    days, was = counted_days(before, last_lost), tours(before, published)
    told = {key: frozenset(jobs) for key, jobs in was.items() if key[1] in days}
    yards = _Yards(ready, told)
    keys = [(crew, day) for day in sorted(days) for crew in ready.world.crews]
    alone = [frozenset({key}) for key in keys if yards.must_change(key)]
    return (*alone, *_apart(yards, frozenset(keys).difference(*alone)))


def _apart(yards: _Yards, kept: frozenset[CrewDay]) -> Iterator[frozenset[CrewDay]]:
    """Yield the smallest group of any yard, time and again, until each yard can have what is left."""
    found = {job: yards.group(job, kept) for job in yards.works}
    while found := {job: group for job, group in found.items() if group}:
        least = min(found.values(), key=len)
        yield least
        kept -= least
        found = {job: it if it <= kept else yards.group(job, kept) for job, it in found.items()}


class _Way(NamedTuple):
    """Who may do a work and when; ``solid`` are slots worked whichever machine units are taken."""

    crews: tuple[str, ...]
    calendar: Calendar
    slots: int
    solid: int
    binds: tuple[Bind, ...]


class _Span(NamedTuple):
    """Crews that a work may hold in slots of a bitmap, from a first one on to a last one."""

    crews: tuple[str, ...]
    bits: int
    first: int
    last: int


class _Events(NamedTuple):
    """Soonest starts and ends by work."""

    start: dict[int, int]
    end: dict[int, int]


class _Yards:
    """The works of each yard, forerunners first, and who was told to come on which day.

    Attributes
    ----------
    works, crews
        By yard its works, and all crews that may do one of them.
    """

    def __init__(self, ready: Ready, told: Mapping[CrewDay, frozenset[str]]) -> None:
        self.ready, self.told, self.day = ready, told, (1 << ready.per_day) - 1
        self.works: dict[str, list[int]] = defaultdict(list)
        for i in ready.order:
            self.works[ready.works[i].job].append(i)
        self._facts = {i: self._fact(i, at) for i, at in ready.fixed.items()}
        self._ways = [tuple(self._ways_of(i)) for i in range(len(ready.works))]
        self.crews = {
            job: {crew for i in works for way in self._ways[i] for crew in way.crews}
            for job, works in self.works.items()
        }
        self._alone = _Events({}, {})
        for i in ready.order:
            self._see(i, {}, self._alone)

    def _ways_of(self, i: int) -> Iterator[_Way]:
        work, units = self.ready.works[i], -1
        for name in work.machines:
            for opened in self.ready.world.machines[name].open:
                units &= opened
        for option in self.ready.options[i]:
            crews, calendar = work.held_by(option.crew), option.calendar
            yield _Way(crews, calendar, option.slots, calendar.bits & units, option.binds)

    def _fact(self, i: int, at: Placement) -> _Span:
        """Where a work is that has begun; one with machines may take longer, by which unit it has."""
        work = self.ready.works[i]
        bits = self.ready.bits(work, at.crew)
        last = self.ready.size - 1 if at.machines else at.end
        return _Span(work.held_by(at.crew), bits, max(at.start, 0), last)

    def _ends(self, i: int, at: Placement) -> int:
        """Soonest end of a work that has begun, whichever machine units it has."""
        if not at.machines:
            return at.end
        work, now = self.ready.works[i], self.ready.world.now
        calendar = self.ready.calendar(self._facts[i].bits)
        return calendar.end(now, work.crews.get(at.crew, work.slots))

    def must_change(self, key: CrewDay) -> bool:
        """Return True if a yard has nothing for a crew on a day, or work that has begun holds it elsewhere."""
        told = self.told.get(key, frozenset())
        held = any(
            self._meets(span, key)
            for i, span in self._facts.items()
            if self.ready.works[i].job not in told and not self.ready.fixed[i].machines
        )
        return held or any(self._fails(job, [key]) for job in told)

    def group(self, job: str, kept: frozenset[CrewDay]) -> frozenset[CrewDay]:
        """Return crew-days that a yard cannot have as told all together; none if it can have all that are kept.

        Left out, the late ones first and many at once, is what the rest cannot be kept without either.
        """
        mine = [key for key in kept if key[0] in self.crews[job]]
        mine.sort(key=lambda key: (-key[1], key[0]))
        size = max(1, len(mine) // PARTS) if self._fails(job, mine) else 0
        if not size:
            return frozenset()
        while size:
            place = 0
            while place < len(mine):
                rest = mine[:place] + mine[place + size :]
                if rest and self._fails(job, rest):
                    mine = rest
                else:
                    place += size
            size = max(1, size // PARTS) if size > 1 else 0
        return frozenset(mine)

    def _fails(self, job: str, kept: Iterable[CrewDay]) -> bool:
        """Return True if a yard cannot have these crews on these days as told, neither more nor less."""
        shut: dict[str, int] = defaultdict(int)
        wanted: set[CrewDay] = set()
        for key in kept:
            if job in self.told.get(key, ()):
                wanted.add(key)
            else:
                shut[key[0]] |= self.day << key[1] * self.ready.per_day
        events = _Events({}, {})
        for i in self.works.get(job, ()):
            spans = self._see(i, shut, events)
            if not spans:
                return True
            for span in spans:
                wanted -= {key for key in wanted if self._meets(span, key)}
        return bool(wanted)

    def _meets(self, span: _Span, key: CrewDay) -> bool:
        crew, day = key
        first = max(span.first, day * self.ready.per_day)
        last = min(span.last, (day + 1) * self.ready.per_day - 1)
        return (
            crew in span.crews
            and first <= last
            and bool(span.bits >> first & (2 << last - first) - 1)
        )

    def _see(self, i: int, shut: Mapping[str, int], events: _Events) -> Sequence[_Span]:
        """Add the soonest events of a work; return where it may be, nothing if it may be nowhere."""
        at = self.ready.fixed.get(i)
        if at is not None:
            events.start[i], events.end[i] = at.start, self._ends(i, at)
            return [self._facts[i]]
        low = self._after(events, self.ready.into[i], (self.ready.floor[i], 0))
        spans, ends, last = [], [], self.ready.last[i]
        for way in self._ways[i]:
            start, end = self._after(events, way.binds, low)
            found = self._fit(i, way, start, shut)
            if found is not None and max(found[1], end) <= last:
                spans.append(_Span(way.crews, way.calendar.bits, found[0], last))
                ends.append(max(found[1], end))
        if spans:
            events.start[i], events.end[i] = min(span.first for span in spans), min(ends)
        return spans

    def _after(
        self, events: _Events, binds: Sequence[Bind], low: tuple[int, int]
    ) -> tuple[int, int]:
        """Raise least start and least end to what the forerunners allow."""
        start, end = low
        for bind in binds:
            known, alone = (
                (events.end, self._alone.end)
                if bind.from_finish
                else (events.start, self._alone.start)
            )
            bound = bind.earliest[known.get(bind.before, alone.get(bind.before, 0))]
            start, end = (start, max(end, bound)) if bind.to_finish else (max(start, bound), end)
        return start, end

    def _fit(
        self, i: int, way: _Way, start: int, shut: Mapping[str, int]
    ) -> tuple[int, int] | None:
        """Return the first place on whose slots no crew held is told to be elsewhere; machines may make it longer."""
        opened, rank, slots = way.calendar.open, way.calendar.rank, way.slots - 1
        closed = 0
        for crew in way.crews:
            closed |= shut.get(crew, 0)
        closed &= way.solid
        day = self.ready.per_day if self.ready.works[i].one_go else 0
        place = rank[min(max(start, 0), self.ready.size)]
        while place + slots < len(opened):
            low, high = opened[place], opened[place + slots]
            clash = closed >> low & (2 << high - low) - 1
            if clash:
                place = rank[low + clash.bit_length()]
            elif day and low // day != high // day:
                place += 1
            else:
                return low, high
        return None
