"""What a solve may spend: the caller's object holds the clock, so a limit is asked and never read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from .result import Stop


class Budget(Protocol):
    """A ``Stop`` that also says how much of it is used up."""

    def __call__(self) -> bool:
        """Return True once it is time to hand back the best so far."""
        ...

    def spent(self) -> float:
        """Return the share used up, 0 to 1."""
        ...

    def part(self, share: float) -> Budget:
        """Return a budget that ends when this share of the whole is used up, or the whole is."""
        ...

    def seconds(self) -> float | None:
        """Return the seconds left, or None where not seconds but work is counted."""
        ...


class Tries:
    """So many tries and no clock: the same answer on every machine.

    Parameters
    ----------
    most
        Times it may be asked.
    stop
        Asked as well, if given.
    """

    def __init__(self, most: int, stop: Stop | None = None) -> None:
        self.most, self.asked, self._stop = most, 0, stop

    def __call__(self) -> bool:
        """Count one try."""
        self.asked += 1
        return self.asked > self.most or (self._stop is not None and self._stop())

    def spent(self) -> float:
        """Return the share of tries made."""
        return min(1.0, self.asked / self.most) if self.most else 1.0

    def part(self, share: float) -> Budget:
        """Return a budget over the same count."""
        return Part(self, share)

    def seconds(self) -> float | None:
        """No clock."""
        return None


class Part:
    """A budget up to a share of a whole one, as it stands now."""

    def __init__(self, whole: Budget, share: float) -> None:
        self._whole, self._share, self._from = whole, share, whole.spent()

    def __call__(self) -> bool:
        """Return True once the share or the whole is used up."""
        return self._whole() or self._whole.spent() >= self._share

    def spent(self) -> float:
        """Return how much of the share is used up."""
        width = self._share - self._from
        return min(1.0, (self._whole.spent() - self._from) / width) if width > 0 else 1.0

    def part(self, share: float) -> Budget:
        """Return a share of the share."""
        return Part(self._whole, self._from + share * (self._share - self._from))

    def seconds(self) -> float | None:
        """Return the seconds left of the share."""
        left, width = self._whole.seconds(), 1 - self._whole.spent()
        return left and left * max(0.0, self._share - self._whole.spent()) / max(width, 1e-9)
