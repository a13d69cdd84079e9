"""What became of every work, read off its ends in all futures: odds of days, and who eats them."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .taken import NOBODY

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime, timedelta

    from numpy.typing import NDArray

    from jobs.scheduling.result import Plan
    from jobs.scheduling.slots import SlotAxis
    from jobs.scheduling.world import Work, World
    from jobs.weather.limits import Measure

    from .links import Ends

    Slots = NDArray[np.int64]

SHARES = (0.5, 0.8, 0.9)
NEAR_SAFE = (0.75, 0.85)
"""Which futures tell what eats a buffer: those that end about the day kept 8 times in 10."""
DAY_MINUTES = 24 * 60
TOLD_FROM_DAYS = 0.005
"""Days are told to a hundredth."""


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


@dataclass(frozen=True, slots=True)
class Account:
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
        return tuple(
            Eater(names[n], round(float(days[n]), 2)) for n in worst if days[n] > TOLD_FROM_DAYS
        )

    def _late(self, name: str) -> Slots:
        """Minutes a work ends later than planned, in each future."""
        ends = np.array(self._axis(self.world.works[name]).end)
        found = np.minimum(self.placed[name].end, self.size - 1)
        late: Slots = ends[found] - ends[self.plan[name].end]
        return late
