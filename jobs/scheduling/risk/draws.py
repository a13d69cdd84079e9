"""What is drawn for each future: pace, weather, waits; or nothing, so that all goes as planned."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np

from jobs.trade.durations import GRACE
from jobs.trade.work import Clock

from .luck import triangle
from .sky import Sky

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.random import Generator
    from numpy.typing import NDArray

    from jobs.scheduling.dice import Dice
    from jobs.scheduling.world import Work, World
    from jobs.weather.limits import Limit, Measure

    from .hazards import Hazards
    from .order import Follow
    from .place import Place

    Slots = NDArray[np.int64]
    Marks = NDArray[np.bool_]

ALIKE = 0.5
"""How much of a crew's luck with its pace is shared by all it does (our own convention)."""
ROUNDING = float(GRACE) + 1e-5
"""What durations are rounded down by, as in planning, and what single precision may add."""
LONGEST_CURE_DAYS = 28
"""Colder than that nobody waits: the slab is covered and heated (ACI 306R; our own convention)."""
DAY_MINUTES = 24 * 60


class Draws(Protocol):
    """What is drawn for each future."""

    futures: int

    def slots(self, work: Work, crew: str, planned: int) -> Slots:
        """Slots a work takes a crew."""
        ...

    def lost(self, work: Work) -> Marks | None:
        """Slots lost to a work, (slots, futures) from the first that is drawn; None without weather."""
        ...

    def amounts(self, follow: Follow) -> Slots | None:
        """Business days of a wait; None for the plan's own."""
        ...

    def ready_at(self, follow: Follow, event: Slots, minutes: Slots) -> Slots | None:
        """Minute from which a wait is over, by slot and minute of its event; None for the plan's own."""
        ...


class Calm:
    """One future in which everything goes as planned."""

    futures = 1

    def slots(self, work: Work, crew: str, planned: int) -> Slots:
        """As planned."""
        del work, crew
        return np.array([planned])

    def lost(self, work: Work) -> Marks | None:
        """Nothing."""
        del work
        return None

    def amounts(self, follow: Follow) -> Slots | None:
        """As the plan has it."""
        del follow
        return None

    def ready_at(self, follow: Follow, event: Slots, minutes: Slots) -> Slots | None:
        """As the plan has it."""
        del follow, event, minutes
        return None


class Roll(NamedTuple):
    """Dice of one batch of futures, and how many there are."""

    dice: Dice
    batch: int
    futures: int

    def of(self, use: str) -> Generator:
        """Return the numbers of a use."""
        return self.dice.many(f"{use}, batch {self.batch}")


class Drawn:
    """Pace, weather and waits of a batch of futures."""

    def __init__(
        self,
        world: World,
        hazards: Hazards,
        roll: Roll,
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
            axis = self.world.axis
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
        axis = self.world.axis
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
