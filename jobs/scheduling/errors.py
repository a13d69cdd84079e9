"""Errors of the planning core: no plan, and who is to blame."""

from __future__ import annotations


class SchedulingError(Exception):
    """What is wrong (``reason``), the way out (``remedy``) and the works involved (``culprits``)."""

    def __init__(self, reason: str, *, remedy: str = "", culprits: tuple[str, ...] = ()) -> None:
        super().__init__(reason, remedy, culprits)
        self.reason, self.remedy, self.culprits = reason, remedy, culprits

    def __reduce__(self) -> tuple[object, ...]:
        """Survive pickling: a solve may run in another process."""
        return (_rebuild, (type(self), self.reason, self.remedy, self.culprits))

    def __str__(self) -> str:
        """One line: reason, then remedy."""
        return f"{self.reason}; {self.remedy}" if self.remedy else self.reason


class BadWorld(SchedulingError):
    """What is to be planned contradicts itself: an unknown crew, a zone nobody can enter ..."""


class NoPlan(SchedulingError):
    """No dates keep every link: ``culprits`` is the ring of works whose least and at-most clash."""


def _rebuild(
    kind: type[SchedulingError], reason: str, remedy: str, culprits: tuple[str, ...]
) -> SchedulingError:
    return kind(reason, remedy=remedy, culprits=culprits)
