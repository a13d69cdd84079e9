"""A world made ready for planning: works by number, their calendars and waits as look-ups.

What builds plans and what dates networks both start from here. Works are numbered in the world's
order. What has begun has its place already; everything else has one option per crew that may do it.
Waits are asked slot by slot and remembered, so that a wait shared by many links is counted once.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from jobs.trade.work import Clock

from .begun import where_begun
from .binds import Bind, Lookup, Option, distinct
from .calendars import Calendar
from .errors import NoPlan
from .rings import in_order
from .waits import Wait

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Sequence

    from jobs.trade.work import Lag, Relation, Shift

    from .binds import Pull
    from .result import Placement
    from .slots import SlotAxis
    from .world import Tie, Work, World


@dataclass(frozen=True)
class Ready:
    """A world by numbers.

    Attributes
    ----------
    options
        For each work the ways to do it; none for what has begun.
    distinct
        The same, those left out that differ from one before in nothing but the crew.
    fixed
        Where the works stand that have begun.
    floor, last
        First slot in which each work may start, last in which it may end.
    into
        Links into each work, those left out that are counted in a crew's own time.
    pulls
        What these make of each work.
    back
        Links with an at-most, by forerunner.
    late
        The same by follower, whatever its crew.
    after
        Followers of each work, links to works that have begun left out.
    order
        All works, forerunners first.
    """

    world: World
    works: tuple[Work, ...] = field(init=False)
    number: dict[str, int] = field(init=False)
    options: list[tuple[Option, ...]] = field(init=False)
    distinct: list[tuple[Option, ...]] = field(init=False)
    fixed: dict[int, Placement] = field(init=False)
    floor: list[int] = field(init=False)
    last: list[int] = field(init=False)
    into: list[list[Bind]] = field(init=False)
    pulls: list[tuple[Pull, ...]] = field(init=False)
    back: list[list[Bind]] = field(init=False)
    late: list[tuple[Bind, ...]] = field(init=False)
    after: list[list[int]] = field(init=False)
    order: list[int] = field(init=False)
    _calendars: dict[int, Calendar] = field(init=False, repr=False)
    _usuals: dict[tuple[str, Shift, str], dict[str, Calendar]] = field(init=False, repr=False)
    _yards: dict[tuple[str, Shift], int] = field(init=False, repr=False)
    _shifts: dict[tuple[str, Shift], int] = field(init=False, repr=False)
    _waits: dict[Hashable, tuple[Lookup, Lookup, Lookup | None, Lookup | None]] = field(
        init=False, repr=False
    )

    def __post_init__(self) -> None:
        """Read the world once."""
        works = tuple(self.world.works.values())
        self._set(works=works, number={work.id: i for i, work in enumerate(works)})
        self._set(_calendars={}, _usuals={}, _yards={}, _shifts={}, _waits={})
        self._set(into=[[] for _ in works], back=[[] for _ in works], after=[[] for _ in works])
        size = self.size
        self._set(
            floor=[self._floor(work) for work in works],
            last=[
                size - 1 if w.pin.not_after is None else min(w.pin.not_after, size - 1)
                for w in works
            ],
        )
        own = self._link()
        self._set(fixed=where_begun(self))
        self._set(options=[self._options(work, own.get(i, [])) for i, work in enumerate(works)])
        self._set(pulls=[tuple([bind.pull for bind in binds]) for binds in self.into])
        self._set(late=[self._late(i) for i in range(len(works))])
        self._set(distinct=[distinct(options) for options in self.options])
        self._set(order=in_order(works, self.after))

    def _set(self, **values: object) -> None:
        for name, value in values.items():
            object.__setattr__(self, name, value)

    @property
    def size(self) -> int:
        """Slots on the axis."""
        return self.world.axis.size

    @property
    def per_day(self) -> int:
        """Slots in a day."""
        return self.world.axis.per_day

    def axis(self, work: Work) -> SlotAxis:
        """Return the axis of a work's job."""
        return self.world.axes[self.world.jobs[work.job].zone]

    def calendar(self, bits: int) -> Calendar:
        """Return the calendar of a bitmap, made once."""
        found = self._calendars.get(bits)
        if found is None:
            found = self._calendars[bits] = Calendar(bits, self.size)
        return found

    def bits(self, work: Work, crew: str = "") -> int:
        """Bitmap of the slots in which a work may be done by a crew, machines left aside."""
        bits = self._yard(work.job, work.shift)
        if work.window is not None:
            bits &= work.window
        for held in work.held_by(crew):
            people = self.world.crews.get(held)
            bits = bits if people is None else bits & people.open
        return bits & ~work.short.get(crew, 0)

    def binds(self, i: int, crew: str) -> Iterator[Bind]:
        """Every link into a work if it is done by a crew."""
        yield from self.into[i]
        for option in self.options[i]:
            if option.crew == crew:
                yield from option.binds

    def held(self, i: int, at: Placement) -> Calendar:
        """Return the calendar of a placed work: open to it, its crew and every unit it holds."""
        bits = self.bits(self.works[i], at.crew)
        for machine, unit in at.machines:
            bits &= self.world.machines[machine].open[unit]
        return self.calendar(bits)

    def _yard(self, job: str, shift: Shift) -> int:
        """Slots of a shift that are open to a job."""
        if (job, shift) not in self._yards:
            zone = self.world.jobs[job].zone
            if (zone, shift) not in self._shifts:
                self._shifts[zone, shift] = self.world.axes[zone].shift_mask(shift)
            self._yards[job, shift] = self.world.jobs[job].open & self._shifts[zone, shift]
        return self._yards[job, shift]

    def _floor(self, work: Work) -> int:
        given = (self.world.now, self.world.jobs[work.job].release, work.pin.not_before or 0)
        return max(given)

    def _options(self, work: Work, own: Sequence[Tie]) -> tuple[Option, ...]:
        if work.done is not None:
            return ()
        able = work.crews or {"": work.slots}
        if work.pin.crew:
            if work.pin.crew not in able:
                raise NoPlan(
                    f"{work.name} was fixed by hand for a crew that is not able to do it",
                    remedy="choose another crew, or none",
                    culprits=(work.id,),
                )
            able = {work.pin.crew: able[work.pin.crew]}
        calendars = self._calendars_of(work)
        options = []
        for crew, slots in able.items():
            calendar = calendars.get(crew)
            if calendar is None:
                calendar = calendars[crew] = self.calendar(self.bits(work, crew))
            binds = tuple(self._bind(tie, calendar) for tie in own) if own else ()
            options.append(Option(crew, slots, calendar, binds))
        return tuple(options)

    def _calendars_of(self, work: Work) -> dict[str, Calendar]:
        """Calendars of a work by crew; works of a yard without slots of their own share theirs."""
        if work.window is not None or work.short:
            return {}
        return self._usuals.setdefault((work.job, work.shift, work.lent), {})

    def _link(self) -> dict[int, list[Tie]]:
        """Sort the links in; return those counted in a crew's own time, by follower."""
        own: dict[int, list[Tie]] = {}
        for tie in self.world.ties:
            before, after = self.number[tie.before], self.number[tie.after]
            if self.works[after].done is not None:
                continue
            self.after[before].append(after)
            if tie.lag.clock is Clock.WORK and tie.lag.amount:
                own.setdefault(after, []).append(tie)
                continue
            bind = self._bind(tie, None)
            self.into[after].append(bind)
            if bind.latest is not None:
                self.back[before].append(bind)
        for after, ties in own.items():
            for tie in ties:
                if tie.lag.at_most is not None:
                    calendar = self.calendar(self.bits(self.works[after]))
                    self.back[self.number[tie.before]].append(self._bind(tie, calendar))
        return own

    def _late(self, i: int) -> tuple[Bind, ...]:
        binds = self.into[i]
        for option in self.options[i][:1]:
            binds = [*binds, *option.binds]
        return tuple([bind for bind in binds if bind.latest is not None])

    def lookups(
        self,
        before: Work,
        after: Work,
        lag: Lag,
        relation: Relation,
        calendar: Calendar | None = None,
    ) -> tuple[Lookup, Lookup, Lookup | None, Lookup | None]:
        """Return the wait between two works and its inverse, and the same of its at-most."""
        a, b = self.axis(before), self.axis(after)
        key = (
            id(a),
            id(b),
            lag.amount,
            id(lag.clock),
            lag.at_most,
            id(lag.slower),
            id(relation),
            id(calendar),
        )
        if key not in self._waits:
            own = self.calendar(0) if calendar is None else calendar
            wait = Wait(lag, relation, a, b, own, self.world.holidays)
            self._waits[key] = (
                Lookup(wait.earliest),
                Lookup(wait.latest_event),
                None if lag.at_most is None else Lookup(wait.latest),
                None if lag.at_most is None else Lookup(wait.earliest_event),
            )
        return self._waits[key]

    def _bind(self, tie: Tie, calendar: Calendar | None) -> Bind:
        before, after = self.number[tie.before], self.number[tie.after]
        relation = tie.relation
        waits = self.lookups(self.works[before], self.works[after], tie.lag, relation, calendar)
        return Bind(before, after, relation.from_finish, relation.to_finish, *waits, tie)
