"""Days lost among some worked, in closed form: what drawn futures are held against.

A job that needs so many dry days loses, before each of them, no day with chance 1 - P01 and otherwise a
spell with a geometric length: a renewal, so that the whole distribution is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate, count
from math import comb, sqrt
from typing import TYPE_CHECKING

from jobs.weather.errors import WeatherError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.weather.chain import Chain

ROUNDING = 1e-12
"""Slack for sums of chances, so that a quantile met exactly counts as met."""


@dataclass(frozen=True, slots=True)
class LostDays:
    """Days lost to wet weather until so many are worked, the day before being a worked one.

    Attributes
    ----------
    chain
        Of lost and open days.
    worked
        Days of work that must be got in.
    """

    chain: Chain
    worked: int

    def __post_init__(self) -> None:
        """Refuse work of no length."""
        if self.worked < 1:
            raise WeatherError(
                f"{self.worked} days of work lose nothing", remedy="ask for one day or more"
            )

    @property
    def mean(self) -> float:
        """Mean days lost, k f / (1 - f)."""
        share = self.chain.wet_share
        return self.worked * share / (1 - share)

    @property
    def variance(self) -> float:
        """Variance of the days lost, k f (1 + r) / ((1 - f)^2 (1 - r))."""
        share, memory = self.chain.wet_share, self.chain.memory
        return self.worked * share * (1 + memory) / ((1 - share) ** 2 * (1 - memory))

    @property
    def mean_any_start(self) -> float:
        """Mean days lost when nothing is known of the day before the first."""
        share, memory = self.chain.wet_share, self.chain.memory
        return self.mean + share * memory / ((1 - share) * (1 - memory))

    def chance(self, lost: int) -> float:
        """Return the chance to lose exactly so many days: so many spells, so long together."""
        first, on = self.chain.after_dry, self.chain.after_wet
        if lost == 0:
            return (1 - first) ** self.worked
        return sum(
            comb(self.worked, spells)
            * first**spells
            * (1 - first) ** (self.worked - spells)
            * comb(lost - 1, spells - 1)
            * on ** (lost - spells)
            * (1 - on) ** spells
            for spells in range(1, min(self.worked, lost) + 1)
        )

    def quantile(self, share: float) -> int:
        """Return the fewest lost days that are not exceeded with such a chance."""
        if not 0 < share < 1:
            raise WeatherError(
                f"a chance of {share:g} has no quantile", remedy="ask between 0 and 1"
            )
        sums = accumulate(self._chances())
        return next(lost for lost, total in enumerate(sums) if total >= share - ROUNDING)

    def _chances(self) -> Iterator[float]:
        return map(self.chance, count())


def coverage_slack(jobs: int, share: float = 0.8) -> float:
    """Return how far an observed share may lie from a true one: two standard errors."""
    return 2 * sqrt(share * (1 - share) / jobs)
