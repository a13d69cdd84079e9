"""Wet spells: a first-order chain of wet and dry days, and what follows from it in closed form.

Whether a day is wet depends on the day before (Gabriel and Neumann 1962, Quarterly Journal of the Royal
Meteorological Society 88, 90-95). Independent days would make spells too short and long delays too rare.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt
from typing import NamedTuple

from .errors import WeatherError

SLOPE_STEP = 0.05
"""Half-width of the difference that ``slope`` is taken by."""


class Spread(NamedTuple):
    """Mean and standard deviation."""

    mean: float
    deviation: float


@dataclass(frozen=True, slots=True)
class Chain:
    """Chance that a day is wet after a dry one and after a wet one.

    Raises
    ------
    WeatherError
        If a chance is not one, or a wet spell would never end.
    """

    after_dry: float
    after_wet: float

    def __post_init__(self) -> None:
        """Refuse what is no chance."""
        if not (0 <= self.after_dry <= 1 and 0 <= self.after_wet < 1):
            raise WeatherError(
                f"days that are wet with chance {self.after_dry:g} after a dry and "
                f"{self.after_wet:g} after a wet day do not exist",
                remedy="give shares from 0 to 1, the second below 1",
            )

    @property
    def wet_share(self) -> float:
        """Share of wet days in the long run, P01 / (1 + P01 - P11)."""
        return self.after_dry / (1 + self.after_dry - self.after_wet)

    @property
    def memory(self) -> float:
        """Correlation from day to day, P11 - P01."""
        return self.after_wet - self.after_dry

    @property
    def wet_spell(self) -> float:
        """Mean length of a wet spell, days."""
        return 1 / (1 - self.after_wet)

    @property
    def dry_spell(self) -> float:
        """Mean length of a dry spell, days."""
        return 1 / self.after_dry

    def wet_in(self, days: int, *, wet: bool) -> float:
        """Return the chance that the day so many days on is wet, by what today is."""
        share = self.wet_share
        return share + self.memory**days * (float(wet) - share)

    def dry_run(self, days: int, *, wet: bool) -> float:
        """Return the chance that the next so many days are all dry, by what today is."""
        if days == 0:
            return 1.0
        first = self.after_wet if wet else self.after_dry
        return (1 - first) * (1 - self.after_dry) ** (days - 1)

    def wet_run(self, days: int) -> float:
        """Return the chance that a wet spell, once begun, lasts at least so many days."""
        return float(self.after_wet ** (days - 1))

    def wet_days(self, days: int) -> Spread:
        """Return mean and spread of the number of wet days among some, from the long run.

        Variance: pi (1 - pi) (n + 2 sum over k < n of (n - k) r^k).
        """
        share, memory = self.wet_share, self.memory
        terms = sum((days - k) * memory**k for k in range(1, days))
        return Spread(days * share, sqrt(share * (1 - share) * (days + 2 * terms)))

    def shifted(self, by: float) -> Chain:
        """Return the chain of a wetter (or, negative, drier) year: both log-odds moved alike."""
        return Chain(_shift(self.after_dry, by), _shift(self.after_wet, by))

    @property
    def slope(self) -> float:
        """How fast the long-run share moves with a shift of the log-odds."""
        up, down = self.shifted(SLOPE_STEP).wet_share, self.shifted(-SLOPE_STEP).wet_share
        return (up - down) / (2 * SLOPE_STEP)


def chain_of(wet_share: float, memory: float) -> Chain:
    """Return the chain of a share of wet days and a correlation: P01 = pi (1 - r), P11 = P01 + r."""
    dry = wet_share * (1 - memory)
    return Chain(dry, dry + memory)


def _shift(chance: float, by: float) -> float:
    """A chance with its log-odds moved; certainty stays certain."""
    if chance in (0.0, 1.0):
        return chance
    odds = chance / (1 - chance) * exp(by)
    return odds / (1 + odds)
