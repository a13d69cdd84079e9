"""Monte Carlo of a plan's order through weather, dry-out, cure and pace: when will it really be done?

Works come in the plan's turn; dates fall where weather and pace let them. A crew, machine or zone that waits for
one work gets on with the next that can be done, and gives way as soon as the first can go on. Nothing starts
before its planned day where the plan had a reason that the order does not show. With no weather and the usual pace
every future is the plan itself. Left out, and so taken too lightly: drives between yards, and that a crew
changes yards only at noon.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from jobs.scheduling.errors import SchedulingError
from jobs.trade.durations import GRACE
from jobs.trade.work import Clock

from .order import order_of
from .sky import Place, Sky, triangle
from .walk import NOBODY, Ends, Walk

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.random import Generator
    from numpy.typing import NDArray

    from jobs.scheduling.dice import Dice
    from jobs.scheduling.result import Plan
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Work, World
    from jobs.weather.limits import Limit, Measure

    from .order import Follow, Order

    Slots = NDArray[np.int64]
    Marks = NDArray[np.bool_]

SHARES = (0.5, 0.8, 0.9)
ALIKE = 0.5
"""How much of a crew's luck with its pace is shared by all it does (our own convention)."""
ROUNDING = float(GRACE) + 1e-5
"""What durations are rounded down by, as in planning, and what single precision may add."""
NEAR_SAFE = (0.75, 0.85)
"""Which futures tell what eats a buffer: those that end about the day kept 8 times in 10."""
TOGETHER, LEAST_TOGETHER = 400_000, 250
"""Works times futures walked at once, and the least futures: more would take more room than time."""
SLACK_DAYS = 45
LONGEST_CURE_DAYS = 28
"""Colder than that nobody waits: the slab is covered and heated (ACI 306R; our own convention)."""
DAY_MINUTES = 24 * 60


@dataclass(frozen=True, slots=True)
class Hazards:
    """What may go otherwise than planned.

    Attributes
    ----------
    places
        What weather is drawn from, by job.
    limits
        What stops a work, by work.
    paces
        Quickest and slowest as a multiple of the planned duration, by work.
    waits
        Least and high as a multiple of the usual, by key of the wait.
    cures
        Days at 50 F or more that a wait of concrete takes at least, by key of the wait.
    own_waits
        The same for one job, by job and key, where it goes by other figures.
    fixed
        Works and waits after them that last as planned, come what may: an engineer has set them.
    apart
        True if no crew or machine is held up at another yard, as if each job had its own.
    """

    places: Mapping[str, Place] = field(default_factory=dict)
    limits: Mapping[str, tuple[Limit, ...]] = field(default_factory=dict)
    paces: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    waits: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    cures: Mapping[str, float] = field(default_factory=dict)
    own_waits: Mapping[tuple[str, str], tuple[float, float]] = field(default_factory=dict)
    fixed: frozenset[tuple[str, str]] = frozenset()
    apart: bool = False

    def spread(self, job: str, wait: str) -> tuple[float, float] | None:
        """Return least and high of a wait of a job as a multiple of its usual; None if not known."""
        return self.own_waits.get((job, wait)) or self.waits.get(wait)


class Odds(NamedTuple):
    """When something is done: as planned, and by when with chance 0.5, 0.8, 0.9.

    ``kept`` is the share of futures that keep the promise, None without one; ``beyond`` the
    share that does not end within the days looked at, its dates are the last of them.
    """

    planned: datetime
    p50: datetime
    p80: datetime
    p90: datetime
    kept: float | None
    beyond: float

    @property
    def buffer(self) -> timedelta:
        """From the planned to the P80 finish."""
        return self.p80 - self.planned


class Eater(NamedTuple):
    """A work and the days it makes the job later on average, waits before it included."""

    work: str
    days: float


class Stage(NamedTuple):
    """Odds of the end of some works together, and who makes it late in the futures near the safe day."""

    odds: Odds
    eaters: tuple[Eater, ...]


@dataclass(frozen=True, slots=True)
class Futures:
    """What became of a plan.

    Attributes
    ----------
    jobs, works
        Odds of the finish of each.
    eaters
        By job, the works that make it late, worst first; their days add up to the mean delay.
    causes
        By work, the share of day slots, from now to the planned end, that each measure of the weather
        loses.
    stages
        Of each group of works that was asked for.
    """

    runs: int
    jobs: Mapping[str, Odds]
    works: Mapping[str, Odds]
    eaters: Mapping[str, tuple[Eater, ...]]
    causes: Mapping[str, Mapping[Measure, float]]
    stages: Mapping[tuple[str, str], Stage] = field(default_factory=dict)


def run_futures(
    world: World,
    plan: Plan,
    *,
    weather: Hazards,
    runs: int,
    dice: Dice,
    stages: Mapping[tuple[str, str], Sequence[str]] | None = None,
) -> Futures:
    """Walk a plan's order through many futures.

    Parameters
    ----------
    stages
        Works whose common end is told besides, by job and name of the stage.

    Raises
    ------
    SchedulingError
        If no futures are asked for, or there is nothing to walk.
    """
    if runs < 1 or not world.works:
        raise SchedulingError(
            "there are no futures to look into", remedy="ask for one or more, of some work"
        )
    order, bounds = order_of(world, plan, apart=weather.apart), _bounds(world, plan)
    floors = _floors(world, plan, order, bounds[1])
    ends = max(at.end for at in plan.placements.values()) - bounds[0]
    days = max(1, 1 + ends // next(iter(world.axes.values())).per_day)
    parts, causes = [], _Causes()
    batch = max(LEAST_TOGETHER, TOGETHER // len(world.works))
    for begun in range(0, runs, batch):
        some = min(batch, runs - begun)
        roll = _Roll(dice, begun // batch, some)
        drawn = _Drawn(world, weather, roll, bounds=bounds, planned_days=days)
        parts.append(Walk(world, plan, order, drawn, bounds, floors).run())
        causes.add(drawn.causes, some / runs)
    account = _Account(world, plan, _together(parts), bounds[1])
    told = {key: account.stage(works) for key, works in (stages or {}).items()}
    return replace(account.futures(runs, causes.shares), stages=told)


def _together(parts: Sequence[Mapping[str, Ends]]) -> Mapping[str, Ends]:
    """Return the futures of all batches as one."""
    return {
        name: Ends(
            *(
                np.concatenate(column)
                for column in zip(*(part[name] for part in parts), strict=True)
            )
        )
        for name in parts[0]
    }


def _bounds(world: World, plan: Plan) -> tuple[int, int]:
    """First slot weather is drawn for, and where looking ahead ends: as long again and more."""
    axis = next(iter(world.axes.values()))
    first = world.now // axis.per_day
    last = max(at.end for at in plan.placements.values()) // axis.per_day
    days = min(axis.days, last + max(SLACK_DAYS, last - first) + 1)
    return first * axis.per_day, days * axis.per_day


def _floors(world: World, plan: Plan, order: Order, size: int) -> dict[str, int]:
    """Planned starts of works that the order alone would let begin earlier, and of requests."""
    walk, floors = Walk(world, plan, order, _Calm(), (0, size), {}), {}
    for name in order.works:
        start = plan[name].start
        if world.works[name].request or int(walk.soonest(name)[0]) < start:
            floors[name] = start
        walk.put(name, floors.get(name, 0))
    return floors


class _Calm:
    """One future in which everything goes as planned."""

    futures = 1

    def slots(self, work: Work, crew: str, planned: int) -> Slots:
        del work, crew
        return np.array([planned])

    def lost(self, work: Work) -> Marks | None:
        del work
        return None

    def amounts(self, follow: Follow) -> Slots | None:
        del follow
        return None

    def ready_at(self, follow: Follow, event: Slots, minutes: Slots) -> Slots | None:
        del follow, event, minutes
        return None


class _Roll(NamedTuple):
    """Dice of one batch of futures, and how many there are."""

    dice: Dice
    batch: int
    futures: int

    def of(self, use: str) -> Generator:
        """Return the numbers of a use."""
        return self.dice.many(f"{use}, batch {self.batch}")


class _Causes:
    """By work, the mean share that each measure loses over batches of futures."""

    def __init__(self) -> None:
        self.shares: dict[str, dict[Measure, float]] = {}

    def add(self, causes: Mapping[str, Mapping[Measure, float]], weight: float) -> None:
        """Add a batch that is such a share of all futures."""
        for work, lost in causes.items():
            mine = self.shares.setdefault(work, {})
            for measure, share in lost.items():
                mine[measure] = mine.get(measure, 0.0) + weight * share


class _Drawn:
    """Pace, weather and waits of a batch of futures."""

    def __init__(
        self,
        world: World,
        hazards: Hazards,
        roll: _Roll,
        *,
        bounds: tuple[int, int],
        planned_days: int,
    ) -> None:
        self.world, self.hazards, self.futures = world, hazards, roll.futures
        self.first, self.size = bounds
        self.planned_days = planned_days
        self._paces, self._waits = roll.of("pace"), roll.of("waits")
        self._roll = roll
        self._skies: dict[int, Sky] = {}
        self._lost: dict[tuple[int, tuple[Limit, ...]], tuple[Marks, dict[Measure, float]]] = {}
        self._crews: dict[str, NDArray[np.float64]] = {}
        self.causes: dict[str, Mapping[Measure, float]] = {}

    def slots(self, work: Work, crew: str, planned: int) -> Slots:
        """Slots by a triangular pace whose luck is half the crew's own, rounded up once as in planning."""
        low, high = self.hazards.paces.get(work.id, (1.0, 1.0))
        if crew not in self._crews:
            self._crews[crew] = self._paces.standard_normal(self.futures)
        own = self._paces.standard_normal(self.futures)
        bell = np.sqrt(ALIKE) * self._crews[crew] + np.sqrt(1 - ALIKE) * own
        luck = (1 / (1 + np.exp(-1.702 * bell))).astype(np.float32)
        factor = triangle(luck, low, 1.0, high)
        exact = work.exact.get(crew, planned)
        whole: Slots = np.maximum(1, np.ceil(exact * factor - ROUNDING)).astype(np.int64)
        return whole

    def lost(self, work: Work) -> Marks | None:
        """Slots that break one of the work's limits under the sky of its job."""
        place, limits = self.hazards.places.get(work.job), self.hazards.limits.get(work.id, ())
        if place is None or not limits:
            return None
        key = (id(place), limits)
        if key not in self._lost:
            self._lost[key] = self._sky(place).lost(limits, self.planned_days)
        marks, causes = self._lost[key]
        self.causes[work.id] = causes
        return marks

    def _sky(self, place: Place) -> Sky:
        if id(place) not in self._skies:
            axis = next(iter(self.world.axes.values()))
            first = axis.day(self.first)
            days = [
                first + timedelta(days=n) for n in range((self.size - self.first) // axis.per_day)
            ]
            roll = self._roll.of(f"weather of {place.name}")
            self._skies[id(place)] = Sky(place, days, axis.positions, self.futures, roll)
        return self._skies[id(place)]

    def amounts(self, follow: Follow) -> Slots | None:
        """Business days of a wait drawn between its least and high, whole days."""
        lag = follow.lag
        spread = self.hazards.spread(self.world.works[follow.before].job, lag.wait)
        if lag.clock is not Clock.BUSINESS or lag.amount <= 0 or spread is None:
            return None
        luck = self._waits.random(self.futures, np.float32)
        days: Slots = np.rint(lag.amount * triangle(luck, spread[0], 1.0, spread[1])).astype(
            np.int64
        )
        return days

    def ready_at(self, follow: Follow, event: Slots, minutes: Slots) -> Slots | None:
        """End of a wait drawn between its least and high; of concrete not before it has cured."""
        lag = follow.lag
        spread = self.hazards.spread(self.world.works[follow.before].job, lag.wait)
        if lag.clock is not Clock.ELAPSED or not lag.amount or spread is None:
            return None
        if (follow.before, lag.wait) in self.hazards.fixed:
            return None
        luck = self._waits.random(self.futures, np.float32)
        drawn = lag.amount * triangle(luck, spread[0], 1.0, spread[1])
        waited: Slots = minutes + drawn.astype(np.int64)
        place = self.hazards.places.get(self.world.works[follow.before].job)
        if lag.wait not in self.hazards.cures or place is None:
            return waited
        cured = self._cured(self._sky(place), event, self.hazards.cures[lag.wait])
        both: Slots = np.maximum(waited, minutes + cured)
        return both

    def _cured(self, sky: Sky, event: Slots, days: float) -> Slots:
        """Minutes until a slab has had so many warm days, from the day of the pour on."""
        axis = next(iter(self.world.axes.values()))
        column = np.arange(self.futures)
        poured = np.clip((event - self.first) // axis.per_day, 0, len(sky.days) - 1)
        need = sky.warm_days[poured, column] + days
        low, high = poured.copy(), np.minimum(poured + LONGEST_CURE_DAYS, len(sky.days) - 1)
        for _ in range(LONGEST_CURE_DAYS.bit_length()):
            middle = (low + high) // 2
            enough = sky.warm_days[middle, column] >= need
            high = np.where(enough, middle, high)
            low = np.where(enough | (low >= high), low, np.minimum(middle + 1, high))
        return (high - poured) * DAY_MINUTES


@dataclass(frozen=True, slots=True)
class _Account:
    """Reads what became of every work."""

    world: World
    plan: Plan
    placed: Mapping[str, Ends]
    size: int

    def futures(self, runs: int, causes: Mapping[str, Mapping[Measure, float]]) -> Futures:
        """Return the whole account."""
        works = {
            name: self._odds(self._axis(work), self.plan[name].end, self.placed[name].end, None)
            for name, work in self.world.works.items()
        }
        jobs, eaters = {}, {}
        for name, job in self.world.jobs.items():
            counted = [w.id for w in self.world.works.values() if w.job == name and w.counts]
            if counted:
                ends = np.max([self.placed[work].end for work in counted], axis=0)
                planned = max(self.plan[work].end for work in counted)
                jobs[name] = self._odds(self.world.axes[job.zone], planned, ends, job.promise)
                eaters[name] = self._eaters(counted)
        return Futures(runs, jobs, works, eaters, causes)

    def stage(self, works: Sequence[str]) -> Stage:
        """Return the account of some works together."""
        ends = np.max([self.placed[work].end for work in works], axis=0)
        planned = max(self.plan[work].end for work in works)
        odds = self._odds(self._axis(self.world.works[works[0]]), planned, ends, None)
        ranked = np.argsort(ends, kind="stable")
        low, high = (int(share * len(ranked)) for share in NEAR_SAFE)
        return Stage(odds, self._eaters(works, ranked[low : max(high, low + 1)]))

    def _axis(self, work: Work) -> SlotAxis:
        return self.world.axes[self.world.jobs[work.job].zone]

    def _odds(self, axis: SlotAxis, planned: int, ends: Slots, promise: int | None) -> Odds:
        ranked = np.sort(ends)
        p50, p80, p90 = (
            axis.ends(min(int(ranked[ceil(share * len(ranked)) - 1]), self.size - 1))
            for share in SHARES
        )
        return Odds(
            planned=axis.ends(planned),
            p50=p50,
            p80=p80,
            p90=p90,
            kept=None if promise is None else float((ends <= promise).mean()),
            beyond=float((ends >= self.size).mean()),
        )

    def _eaters(self, counted: Sequence[str], among: Slots | None = None) -> tuple[Eater, ...]:
        """Follow each future's finish back along what held each work, and share the delay out.

        A work eats what it is later than planned, less what the work it waited for was later.

        Parameters
        ----------
        among
            The futures looked at; None for all.
        """
        names = list(self.world.works)
        late = np.array([self._late(name) for name in names])
        held = np.array([self.placed[name].held_by for name in names])
        column = np.arange(late.shape[1]) if among is None else among
        numbers = np.array([names.index(work) for work in counted])
        ends = np.array([self.placed[work].end for work in counted])
        at = numbers[ends.argmax(axis=0)][column]
        eaten = np.zeros(len(names))
        for _ in names:
            before = held[at, column]
            own = late[at, column] - np.where(before == NOBODY, 0, late[before, column])
            live = at != NOBODY
            np.add.at(eaten, at[live], own[live])
            at = np.where(live, before, NOBODY)
            if (at == NOBODY).all():
                break
        days = eaten / len(column) / DAY_MINUTES
        worst = sorted(range(len(names)), key=lambda n: (-days[n], names[n]))
        return tuple(Eater(names[n], round(float(days[n]), 2)) for n in worst if days[n] > 0.005)  # noqa: PLR2004 - shown to a hundredth

    def _late(self, name: str) -> Slots:
        """Minutes a work ends later than planned, in each future."""
        ends = np.array(self._axis(self.world.works[name]).end)
        found = np.minimum(self.placed[name].end, self.size - 1)
        late: Slots = ends[found] - ends[self.plan[name].end]
        return late
