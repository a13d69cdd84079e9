"""Rain of a place, month by month: a wet/dry chain, how heavy it is, how years differ.

The numbers of a *daily record* are counted; those of *monthly figures* are the month's share of wet days,
a usual memory from day to day, and a usual spread from year to year.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot, log, sqrt
from statistics import variance
from typing import TYPE_CHECKING, NamedTuple

from .chain import Chain, chain_of
from .climate import MONTH_DAYS, kilometres
from .errors import BadRecord, WeatherError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from .climate import MonthlyClimate, Spot

WET_MM, HEAVY_MM = 2.54, 12.7
"""Millimetres from which a day is wet and heavy: 0.10 and 0.50 in, as NOAA's normals count days."""
SEASON_OF = ("DJF", "DJF", "MAM", "MAM", "MAM", "JJA", "JJA", "JJA", "SON", "SON", "SON", "DJF")
USUAL_MEMORY: Mapping[str, float] = {"DJF": 0.20, "MAM": 0.20, "JJA": 0.16, "SON": 0.21}
"""Correlation from day to day where no daily record is near: mean over the states with records of the means
of their records (persistence.csv: 17 records, nine of them in Florida)."""
USUAL_SPREAD = 0.15
"""Spread of the log-odds from year to year where no daily record was counted (five records: 0 to 0.31)."""
LEAST_SHARE = 0.002
"""A month without any wet day in the tables may still see one: a day in sixteen years."""
FULL_MONTH = 25
"""Days of a month that must be known for its count to speak of the year."""
LEAST_YEARS = 5
"""Years in which a month must be counted for it to say how years differ."""
SPREAD_DOUBT = 10
"""Years that the usual spread counts for beside the counted ones."""
MEMORY_KM = 500.0
"""Kilometres over which a record's weight falls to 1/e (ours)."""
USUAL_WEIGHT = 0.5
"""Weight of the usual memory beside records: that of half a record on the spot (ours)."""


@dataclass(frozen=True, slots=True)
class Rain:
    """Twelve chains with the share of wet days that are heavy, and the spread between years.

    Attributes
    ----------
    chains, heavy
        January first.
    spread
        Standard deviation of the yearly shift of the log-odds.
    """

    chains: tuple[Chain, ...]
    heavy: tuple[float, ...]
    spread: float

    def __post_init__(self) -> None:
        """Refuse other than twelve months, and shares that are none."""
        twelve = len(self.chains) == len(self.heavy) == len(MONTH_DAYS)
        if not twelve or self.spread < 0 or not all(0 <= share <= 1 for share in self.heavy):
            raise WeatherError("the rain of a year has twelve months", remedy="give all twelve")

    def excess_mm(self, month: int) -> float:
        """Return mean millimetres above the wet limit on a wet day of a month (0 is January).

        An exponential tail through the two limits: P(heavy | wet) = exp(-(12.7 - 2.54) / mean).
        """
        share = min(0.95, max(0.02, self.heavy[month]))
        return (HEAVY_MM - WET_MM) / -log(share)

    def widened(self, by: float) -> Rain:
        """Return the same rain, less sure: another spread added to that between years."""
        return Rain(self.chains, self.heavy, hypot(self.spread, by))


@dataclass(frozen=True, slots=True)
class Tally:
    """Counts of one month of one year: days known, wet, heavy; pairs of days and wet seconds."""

    days: int = 0
    wet: int = 0
    heavy: int = 0
    dry_pairs: int = 0
    wet_after_dry: int = 0
    wet_pairs: int = 0
    wet_after_wet: int = 0

    def __add__(self, other: Tally) -> Tally:
        """Return both together."""
        return Tally(
            self.days + other.days,
            self.wet + other.wet,
            self.heavy + other.heavy,
            self.dry_pairs + other.dry_pairs,
            self.wet_after_dry + other.wet_after_dry,
            self.wet_pairs + other.wet_pairs,
            self.wet_after_wet + other.wet_after_wet,
        )

    @property
    def share(self) -> float:
        """Share of wet days, half a day of doubt added to either side."""
        return (self.wet + 0.5) / (self.days + 1)

    @property
    def heavy_share(self) -> float:
        """Share of wet days that are heavy."""
        return (self.heavy + 0.5) / (self.wet + 1)

    @property
    def chain(self) -> Chain:
        """Chain counted from pairs, each chance pulled a little toward the month's own share."""
        share = self.share
        return Chain(
            (self.wet_after_dry + 0.5 * share) / (self.dry_pairs + 0.5),
            (self.wet_after_wet + 4 * share) / (self.wet_pairs + 4),
        )


def rain_of_years(years: Mapping[int, Sequence[Tally]]) -> Rain:
    """Return the rain counted in some years of a daily record, twelve tallies a year.

    The spread between years is fitted by moments to what the chain leaves unexplained of the variance
    of monthly counts, then drawn toward the usual one: few years say little about it.

    Raises
    ------
    BadRecord
        If a month was never seen.
    """
    months = [sum((year[m] for year in years.values()), Tally()) for m in range(12)]
    if not all(month.days for month in months):
        raise BadRecord("some month is missing from every year", remedy="load whole years")
    chains = tuple(month.chain for month in months)
    return Rain(chains, tuple(month.heavy_share for month in months), _spread(years, chains))


def _spread(years: Mapping[int, Sequence[Tally]], chains: Sequence[Chain]) -> float:
    """Excess of the variance of monthly counts over the chain's, per squared slope."""
    excess = slopes = 0.0
    for m, (length, chain) in enumerate(zip(MONTH_DAYS, chains, strict=True)):
        counts = [
            year[m].wet / year[m].days * length
            for year in years.values()
            if year[m].days >= FULL_MONTH
        ]
        if len(counts) >= LEAST_YEARS:
            share, memory = chain.wet_share, chain.memory
            own = length * share * (1 - share) * (1 + memory) / (1 - memory)
            excess += variance(counts) - own
            slopes += (length * chain.slope) ** 2
    if not slopes:
        return USUAL_SPREAD
    weight = len(years) / (len(years) + SPREAD_DOUBT)
    return sqrt(weight * max(0.0, excess / slopes) + (1 - weight) * USUAL_SPREAD**2)


def rain_of_month_figures(
    climate: MonthlyClimate,
    memory: Mapping[str, float] = USUAL_MEMORY,
    spread: float = USUAL_SPREAD,
) -> Rain:
    """Return the rain of a place from its monthly figures alone.

    Parameters
    ----------
    memory
        Correlation from day to day by season; a month whose own chances were counted needs none.
    """
    chains, heavy = [], []
    for m, (length, month) in enumerate(zip(MONTH_DAYS, climate.months, strict=True)):
        share = min(0.98, max(LEAST_SHARE, month.wet_days / length))
        if month.after_dry is not None and month.after_wet is not None:
            chains.append(Chain(month.after_dry, month.after_wet))
        else:
            chains.append(chain_of(share, memory[SEASON_OF[m]]))
        heavy.append(min(1.0, month.heavy_days / (share * length)))
    return Rain(tuple(chains), tuple(heavy), spread)


class Remembered(NamedTuple):
    """How strongly days remember each other at a place with a daily record, by season."""

    spot: Spot
    memory: Mapping[str, float]


def memory_at(spot: Spot, known: Sequence[Remembered]) -> dict[str, float]:
    """Return the memory to use at a place: of the records around, by distance, and the usual one.

    A record counts exp(-km / 500), the usual memory as much as half a record on the spot (our own
    convention).
    """
    weights = [exp(-kilometres(spot, record.spot) / MEMORY_KM) for record in known]
    total = sum(weights) + USUAL_WEIGHT
    return {
        season: (
            sum(w * record.memory[season] for w, record in zip(weights, known, strict=True))
            + USUAL_WEIGHT * usual
        )
        / total
        for season, usual in USUAL_MEMORY.items()
    }
