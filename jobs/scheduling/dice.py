"""The one roller of dice: numbers that look random and are the same again for the same seed."""

from __future__ import annotations

from random import Random


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
        self._random = Random(f"{seed}/{use}")  # noqa: S311 (nothing here is a secret)

    def shake(self, values: list[float], width: float) -> list[float]:
        """Return values each moved by a bell-shaped number of a standard width."""
        return [value + self._random.gauss(0, width) for value in values]

    def whole(self, low: int, high: int) -> int:
        """Return a whole number from ``low`` to ``high``, both inclusive."""
        return self._random.randint(low, high)
