"""What is to be planned: works, links, crews, machines, places and jobs on one slot axis.

Calendars are whole numbers used as bitmaps: bit ``t`` is set when slot ``t`` is open. Slot ``t`` is
position ``t % per_day`` of calendar day ``t // per_day``; closed days have slots too, so that a slot
number is a date and a difference is a distance. A ``World`` checks itself; past it, every name is known.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from jobs.trade.work import Lag, Relation, Sentence, Shift, Tread

from .errors import BadWorld

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from .result import Placement
    from .slots import SlotAxis


@dataclass(frozen=True, slots=True)
class Crew:
    """People who move together and do one thing at a time; ``open`` is a bitmap of slots.

    ``optional`` are slots they may work but need not: they are open only where a plan asks for them.
    ``hired`` are people who are not of the house, for one work that no crew of it does.
    """

    id: str
    name: str
    open: int
    optional: int = 0
    hired: bool = False


@dataclass(frozen=True, slots=True)
class Machine:
    """A counted machine; ``open`` has one bitmap per unit owned or rented.

    ``hire`` is, unit by unit, the fewest days paid for each time it is rented; 0, or nothing, for one that is owned.
    """

    id: str
    name: str
    open: tuple[int, ...]
    hire: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Place:
    """A zone or passage of one job: crews at once, and for passages the percentage of a slot.

    ``crews`` is None for a passage (people always pass); ``share`` is 100 for a single-file way.
    """

    id: str
    name: str
    crews: int | None = 1
    share: int = 100


@dataclass(frozen=True, slots=True)
class Job:
    """A yard under way: when it may start, what it promised, how much lateness matters.

    Attributes
    ----------
    release
        First slot that may be used.
    promise
        Last slot that keeps the promise, or None if nothing was promised.
    weight
        Price of a day late against other jobs, in whole points.
    open
        Bitmap of slots this yard may be worked in (its no-work days are closed).
    crews
        Crews at once in the whole yard.
    zone
        Name of its time zone, a key of ``World.axes``.
    near
        Jobs within half an hour's drive: a crew may change to them at lunch without losing a slot.
        None means all jobs are near.
    """

    id: str
    name: str
    release: int
    open: int
    promise: int | None = None
    weight: int = 1
    crews: int = 2
    zone: str = ""
    near: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Pin:
    """What a person fixed by hand: slots, inclusive, or None."""

    not_before: int | None = None
    not_after: int | None = None
    crew: str = ""


@dataclass(frozen=True, slots=True)
class Keepout:
    """After the work's finish ``place`` is shut to treads from ``keeps_out`` up, for ``minutes``."""

    place: str
    minutes: int
    keeps_out: Tread
    exempt: frozenset[str] = frozenset()
    """Work ids that may enter all the same."""


@dataclass(frozen=True, slots=True)
class Done:
    """What has happened: first slot worked, and last slot worked or None while it runs."""

    start: int
    end: int | None
    crew: str = ""


@dataclass(frozen=True, slots=True)
class Work:
    """One activity as the planner sees it.

    Attributes
    ----------
    crews
        Able crews and the working slots each needs. Empty for outside work, which then takes
        ``slots`` slots of the job's own calendar.
    machines
        Units held of each machine, from start to end, closed slots included.
    place
        Zone worked in; empty for work nowhere in particular (office).
    treads
        Places entered and how heavily, the own zone included.
    hauls
        Percentage of each slot taken of a passage.
    window
        Bitmap of slots this work may use at all (season, forecast); None for no limit.
    request
        Moved as late as its followers allow once everything else stands.
    counts
        False for return visits: they do not make the job's finish.
    one_go
        Must start and end within one day.
    short
        By crew, slots that are lost to this work because too few of its people are there.
    lent
        A second crew, lent by hand: held along with the one that does the work; ``crews`` says how
        many slots each needs together with it.
    exact
        Slots by crew before they were rounded up to whole ones (outside work: by ""), where known: a pace
        is drawn for these, lest every future round up once more.
    """

    id: str
    job: str
    name: str
    crews: Mapping[str, int]
    slots: int
    place: str = ""
    template: str = ""
    machines: Mapping[str, int] = field(default_factory=dict)
    treads: Mapping[str, Tread] = field(default_factory=dict)
    hauls: Mapping[str, int] = field(default_factory=dict)
    keepouts: tuple[Keepout, ...] = ()
    one_go: bool = False
    shift: Shift = Shift.DAY
    window: int | None = None
    pin: Pin = Pin()
    done: Done | None = None
    request: bool = False
    counts: bool = True
    short: Mapping[str, int] = field(default_factory=dict)
    lent: str = ""
    exact: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse work of no length."""
        if self.slots < 1 or any(n < 1 for n in self.crews.values()):
            raise BadWorld(
                f"{self.name} takes no time", remedy="every work takes at least one slot"
            )
        if self.lent in self.crews:
            raise BadWorld(
                f"{self.name} has one crew twice", remedy="lend another crew to it, or none"
            )

    def held_by(self, crew: str) -> tuple[str, ...]:
        """Return the crews that are held if one does the work: it, and the one lent."""
        return (crew, self.lent) if crew and self.lent else (crew,) if crew else ()


@dataclass(frozen=True, slots=True)
class Tie:
    """A link between two works, with the sentence that explains it."""

    before: str
    after: str
    relation: Relation = Relation.FINISH_START
    lag: Lag = Lag()
    rule: str = ""
    why: Sentence = Sentence("")


@dataclass(frozen=True, slots=True)
class World:
    """Everything a plan depends on. ``now`` is the first slot that can still be planned.

    ``holidays`` are days that are not business days besides Saturdays and Sundays. The axes of all
    time zones have the same first day and positions, so that a slot number means one thing. ``published``
    is where works stand in the plan that people know; empty where there is none, or none matters.
    """

    axes: Mapping[str, SlotAxis]
    now: int
    crews: Mapping[str, Crew]
    machines: Mapping[str, Machine]
    places: Mapping[str, Place]
    jobs: Mapping[str, Job]
    works: Mapping[str, Work]
    ties: tuple[Tie, ...]
    holidays: frozenset[date] = frozenset()
    published: Mapping[str, Placement] = field(default_factory=dict)

    @property
    def axis(self) -> SlotAxis:
        """Any of the axes, for what is the same on all: their first day, length and positions."""
        return next(iter(self.axes.values()))

    def __post_init__(self) -> None:
        """Refuse names nobody knows, and work that no crew can do."""
        for work in self.works.values():
            self._check(work)
        for tie in self.ties:
            for end in (tie.before, tie.after):
                if end not in self.works:
                    raise BadWorld(
                        f"a link names {end}, which is not planned",
                        remedy="remove the link or restore the activity",
                        culprits=(end,),
                    )

    @property
    def anybody(self) -> int:
        """Slots in which some crew of the house is open, as a bitmap."""
        bits = 0
        for crew in self.crews.values():
            bits |= 0 if crew.hired else crew.open
        return bits

    def is_hired(self, crew: str) -> bool:
        """True if a crew, by its id, is not of the house."""
        return crew in self.crews and self.crews[crew].hired

    def _check(self, work: Work) -> None:
        known = (
            ("job", (work.job,), self.jobs),
            ("crew", (*work.crews, *work.short, *filter(None, [work.lent])), self.crews),
            ("machine", work.machines, self.machines),
            ("place", (work.place,) if work.place else (), self.places),
            ("place", work.hauls, self.places),
            ("place", [k.place for k in work.keepouts], self.places),
        )
        for kind, names, table in known:
            for name in names:
                if name not in table:
                    raise BadWorld(
                        f"{work.name} names the {kind} {name}, which does not exist",
                        remedy=f"add the {kind} or change the activity",
                        culprits=(work.id,),
                    )
        for name, units in work.machines.items():
            if units > len(self.machines[name].open):
                raise BadWorld(
                    f"{work.name} needs {units} of {self.machines[name].name}, "
                    f"there are {len(self.machines[name].open)}",
                    remedy="rent one more, or share the work out",
                    culprits=(work.id,),
                )
