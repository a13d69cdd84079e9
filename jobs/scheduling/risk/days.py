"""How long an outdoor job of so many workdays takes in a wet/dry chain: the whole distribution, exactly.

No dice: chances are carried from day to day over (days worked, what yesterday was), for many starts at once;
the shift between years is integrated by Gauss-Hermite nodes.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from jobs.scheduling.errors import SchedulingError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from jobs.weather.rain import Rain

NODES = 7
"""Nodes of the yearly shift; exact for polynomials to degree 13."""
DONE = 1e-9
"""Chance left at which all jobs count as finished."""
ROUNDING = 1e-9
DRY, LIGHT, HEAVY = range(3)


class DryOut(IntEnum):
    """What a wet day costs: itself, the day after a heavy one as well, the day after any as well."""

    NONE = 0
    AFTER_HEAVY = 1
    AFTER_WET = 2


class Start(NamedTuple):
    """A job that starts some day.

    Attributes
    ----------
    seasons
        Place in the year of the day before the start and of each day after, as ``season_of`` says:
        one more than ``workdays``. Figures of months are read off between their middles.
    workdays
        True for each calendar day from the start on that may be worked.
    """

    rain: Rain
    seasons: Sequence[float]
    workdays: Sequence[bool]


def finish_chances(
    starts: Sequence[Start], works: Sequence[int], dryout: DryOut
) -> dict[int, NDArray[np.float64]]:
    """Return, for each number of workdays, the chance to be done by each calendar day.

    Returns
    -------
    dict
        By workdays: an array of shape (starts, days); column 0 is the start day.
    """
    if not starts or not works or min(works) < 1:
        raise SchedulingError("there is nothing to finish", remedy="give starts and workdays")
    walk = _Walk(starts, max(works), dryout)
    days = len(starts[0].workdays)
    out = {work: np.ones((len(starts), days)) for work in works}
    for day in range(days):
        walk.step(day)
        left = walk.left()
        for work in works:
            out[work][:, day] = 1 - left[:, :work].sum(axis=1)
        if left.sum() < DONE:
            break
    return out


class _Walk:
    """Chances of each start, node, yesterday's weather and number of days worked."""

    def __init__(self, starts: Sequence[Start], works: int, dryout: DryOut) -> None:
        nodes, weights = np.polynomial.hermite_e.hermegauss(NODES)
        self.weights = weights / weights.sum()
        self.dryout = dryout
        places = np.array([start.seasons for start in starts]) - 0.5
        self.months = np.floor(places).astype(int) % 12
        self.next = (self.months + 1) % 12
        self.part = places % 1
        self.open = np.array([start.workdays for start in starts])
        self.rows = np.arange(len(starts))
        shift = np.array([start.rain.spread for start in starts])[:, None, None] * nodes
        self.after_dry = _moved([[c.after_dry for c in s.rain.chains] for s in starts], shift)
        self.after_wet = _moved([[c.after_wet for c in s.rain.chains] for s in starts], shift)
        self.heavy = np.array([start.rain.heavy for start in starts])
        self.chances = np.zeros((3, len(starts), NODES, works))
        self._begin()

    def _begin(self) -> None:
        """The day before: the long run of its season."""
        dry, wet, heavy = self._figures(0)
        share = dry / (1 + dry - wet)
        self.chances[DRY, :, :, 0] = 1 - share
        self.chances[LIGHT, :, :, 0] = share * (1 - heavy)
        self.chances[HEAVY, :, :, 0] = share * heavy

    def _figures(self, day: int) -> list[NDArray[np.float64]]:
        """Chances after dry and wet, and share of heavy days: between the middles of two months."""
        month, after, part = self.months[:, day], self.next[:, day], self.part[:, day, None]
        tables = (self.after_dry, self.after_wet, self.heavy[:, :, None])
        return [t[self.rows, month] * (1 - part) + t[self.rows, after] * part for t in tables]

    def step(self, day: int) -> None:
        """Carry the chances over one calendar day."""
        dry, wet, heavy = (figure[:, :, None] for figure in self._figures(day + 1))
        old = self.chances
        was_wet = old[LIGHT] + old[HEAVY]
        rains = old[DRY] * dry + was_wet * wet
        works = old[DRY] * (1 - dry)
        rests = np.zeros_like(works)
        for state in (LIGHT, HEAVY):
            into = rests if self._costs_next(state) else works
            into += old[state] * (1 - wet)
        shut = ~self.open[:, day]
        moved = np.zeros_like(works)
        moved[:, :, 1:] = works[:, :, :-1]
        moved[shut] = works[shut]
        self.chances = np.stack([moved + rests, rains * (1 - heavy), rains * heavy])

    def _costs_next(self, state: int) -> bool:
        return self.dryout is DryOut.AFTER_WET or (
            self.dryout is DryOut.AFTER_HEAVY and state == HEAVY
        )

    def left(self) -> NDArray[np.float64]:
        """Chance of each start to stand at each number of days worked, nodes weighed together."""
        together: NDArray[np.float64] = np.einsum("sinw,n->iw", self.chances, self.weights)
        return together


def _moved(chances: list[list[float]], shift: NDArray[np.float64]) -> NDArray[np.float64]:
    """Chances (starts, months) with their log-odds shifted: (starts, months, nodes)."""
    flat = np.clip(np.array(chances), 1e-9, 1 - 1e-9)[:, :, None]
    odds: NDArray[np.float64] = flat / (1 - flat) * np.exp(shift)
    return odds / (1 + odds)


@dataclass(frozen=True, slots=True)
class Scored:
    """How forecasts of finish days did against what happened.

    Attributes
    ----------
    observed, expected
        For each share asked: how often jobs were done by the day said, and how often an exactly
        calibrated forecast would be (whole days make it a little more than the share).
    crps
        Mean continuous ranked probability score, calendar days.
    """

    jobs: int
    observed: tuple[float, ...]
    expected: tuple[float, ...]
    crps: float


def score_chances(
    done_by: NDArray[np.float64], finished: Sequence[int], shares: Sequence[float]
) -> Scored:
    """Score chances against the calendar day (1 is the start day) each job finished on."""
    rows = np.arange(len(finished))
    came = np.array(finished)
    observed, expected = [], []
    for share in shares:
        day = (done_by >= share - ROUNDING).argmax(axis=1)
        observed.append(float((came <= day + 1).mean()))
        expected.append(float(done_by[rows, day].mean()))
    after = np.arange(1, done_by.shape[1] + 1)[None, :] >= came[:, None]
    crps = float(((done_by - after) ** 2).sum(axis=1).mean())
    return Scored(len(finished), tuple(observed), tuple(expected), crps)
