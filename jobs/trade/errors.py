"""Errors of the trade core: each says what is wrong and what to do about it."""

from __future__ import annotations

from typing import NamedTuple


class TradeError(Exception):
    """What is wrong (``reason``) and the way out (``remedy``), in plain words."""

    def __init__(self, reason: str, *, remedy: str = "", where: str = "") -> None:
        super().__init__(reason, remedy, where)
        self.reason, self.remedy, self.where = reason, remedy, where

    def __reduce__(self) -> tuple[object, ...]:
        """Survive pickling: an error may cross a process border."""
        return (_rebuild, (type(self), self.reason, self.remedy, self.where))

    def __str__(self) -> str:
        """One line: place, reason, remedy."""
        head = f"{self.where}: {self.reason}" if self.where else self.reason
        return f"{head}; {self.remedy}" if self.remedy else head


class Fault(NamedTuple):
    """One thing wrong in a library file: ``where`` names file and key."""

    where: str
    reason: str
    remedy: str

    def __str__(self) -> str:
        """One line: place, reason, remedy."""
        return f"{self.where}: {self.reason}; {self.remedy}"


class LibraryError(TradeError):
    """Library files that cannot be trusted: every fault found, the first one as reason."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        first = faults[0]
        super().__init__(first.reason, remedy=first.remedy, where=first.where)
        self.faults = faults

    def __reduce__(self) -> tuple[object, ...]:
        """Survive pickling with all faults."""
        return (LibraryError, (self.faults,))

    def __str__(self) -> str:
        """One line with every fault."""
        return " | ".join(map(str, self.faults))


class ScopeError(TradeError):
    """A takeoff that cannot be built: ``where`` names the item or field."""


class CycleError(TradeError):
    """Activities that wait for each other in a ring; ``members`` are their keys in order."""

    def __init__(self, members: tuple[str, ...], *, reason: str, remedy: str = "") -> None:
        super().__init__(reason, remedy=remedy)
        self.members = members

    def __reduce__(self) -> tuple[object, ...]:
        """Survive pickling with its members."""
        return (_rebuild_cycle, (self.members, self.reason, self.remedy))


def _rebuild(kind: type[TradeError], reason: str, remedy: str, where: str) -> TradeError:
    return kind(reason, remedy=remedy, where=where)


def _rebuild_cycle(members: tuple[str, ...], reason: str, remedy: str) -> CycleError:
    return CycleError(members, reason=reason, remedy=remedy)
