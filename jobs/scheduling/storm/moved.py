"""Why a finish moved: each change split by cause, and the ledger of a job that adds up to the day.

Inside one accepted plan the causes are applied one after the other in date order and the old plan is mended
after each by the same rule; what a cause adds is its share. What the mended plan and the accepted one differ by
is re-sequencing, which may be negative. Shares and changes telescope, so nothing is left over.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.errors import BadWorld

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

RE_SEQUENCING = "re-sequencing"
"""Cause of what the accepted plan does otherwise than mending alone."""


class Share(NamedTuple):
    """What one cause adds to a finish, in calendar days; negative brings it forward."""

    cause: str
    why: str
    days: int


class Step(NamedTuple):
    """A cause, and the finish of the mended plan once it and all before it are applied."""

    cause: str
    why: str
    finish: date


@dataclass(frozen=True, slots=True)
class Moved:
    """A finish before and after one accepted plan, split by cause.

    Raises
    ------
    BadWorld
        If the shares do not add up.
    """

    accepted: date
    was: date
    becomes: date
    shares: tuple[Share, ...]

    def __post_init__(self) -> None:
        if sum(share.days for share in self.shares) != (self.becomes - self.was).days:
            raise BadWorld(
                f"the causes do not add up to the days from {self.was} to {self.becomes}",
                remedy="report this: a change was stored in part",
            )


@dataclass(frozen=True, slots=True)
class Ledger:
    """All changes of one finish, oldest first.

    Attributes
    ----------
    first, today
        The finish first published, and the finish that is published now.

    Raises
    ------
    BadWorld
        If a change does not begin where the one before it ended.
    """

    first: date
    changes: tuple[Moved, ...] = ()

    def __post_init__(self) -> None:
        begins = [self.first, *(change.becomes for change in self.changes)]
        for ended, change in zip(begins, self.changes, strict=False):
            if change.was != ended:
                raise BadWorld(
                    f"a change begins on {change.was}, the finish before it was {ended}",
                    remedy="report this: a change of the finish is missing",
                )

    @property
    def today(self) -> date:
        """The finish that is published now."""
        return self.changes[-1].becomes if self.changes else self.first

    @property
    def days(self) -> int:
        """Calendar days from the first finish to today's; what all shares add up to."""
        return (self.today - self.first).days

    def by_cause(self) -> tuple[tuple[str, int], ...]:
        """Return the days of each cause in all, causes in the order they first came up."""
        sums: dict[str, int] = {}
        for change in self.changes:
            for share in change.shares:
                sums[share.cause] = sums.get(share.cause, 0) + share.days
        return tuple(sums.items())


def split(was: date, steps: Sequence[Step], becomes: date) -> tuple[Share, ...]:
    """Split the move of a finish by causes applied in turn; shares of nothing are left out.

    Parameters
    ----------
    was
        The finish published before.
    steps
        Causes in date order, each with the finish after mending.
    becomes
        The finish of the plan accepted.
    """
    finishes = [was, *(step.finish for step in steps)]
    shares = [
        Share(step.cause, step.why, (after - before).days)
        for step, (before, after) in zip(steps, pairwise(finishes), strict=True)
    ]
    shares.append(Share(RE_SEQUENCING, "", (becomes - finishes[-1]).days))
    return tuple(share for share in shares if share.days)


def ledger_of(first: date, changes: Iterable[Moved]) -> Ledger:
    """Return the ledger of a job; a change that was never stored is told as re-sequencing.

    Parameters
    ----------
    first
        The finish first published.
    changes
        In the order in which their plans were accepted.
    """
    told: list[Moved] = []
    ends = first
    for change in changes:
        if change.was != ends:
            days = (change.was - ends).days
            gap = Share(RE_SEQUENCING, "", days)
            told.append(Moved(change.accepted, ends, change.was, (gap,)))
        told.append(change)
        ends = change.becomes
    return Ledger(first, tuple(told))
