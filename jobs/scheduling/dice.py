"""The one roller of dice: numbers that look random and are the same again for the same seed."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from numpy.random import Generator


class Dice:
    """A stream of numbers of its own for each use of a seed.

    Parameters
    ----------
    seed
        Any whole number.
    use
        What the numbers are for; other uses of the same seed get other numbers.
    """

    def __init__(self, seed: int, use: str = "") -> None:
        self._seed, self._use = seed, use
        self._random = Random(f"{seed}/{use}")  # noqa: S311 (nothing here is a secret)

    def many(self, use: str) -> Generator:
        """Return a stream of whole arrays of numbers, of its own for each use."""
        from numpy.random import default_rng  # noqa: PLC0415 (only odds need it; it loads slowly)

        return default_rng([*f"{self._seed}/{self._use}/{use}".encode()])

    def shake(self, values: list[float], width: float) -> list[float]:
        """Return values each moved by a bell-shaped number of a standard width."""
        return [value + self._random.gauss(0, width) for value in values]

    def whole(self, low: int, high: int) -> int:
        """Return a whole number from ``low`` to ``high``, both inclusive."""
        return self._random.randint(low, high)

    def share(self) -> float:
        """Return a number from 0 up to, but not, 1."""
        return self._random.random()

    def below(self, count: int) -> int:
        """Return a whole number from 0 up to, but not, ``count``; quicker than ``whole``."""
        return int(self._random.random() * count)

    def bell(self, width: float) -> float:
        """Return a bell-shaped number about 0 of a standard width."""
        return self._random.gauss(0, width)
