"""What planning gives back: placements, a plan, and a result that can account for itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple, Protocol

from .errors import SchedulingError

if TYPE_CHECKING:
    from collections.abc import Mapping


class Status(StrEnum):
    """How good an answer is proven to be: one vocabulary for every builder and solver."""

    PROVEN = "proven best"
    BOUNDED = "within a proven gap"
    FOUND = "best found"


class Placement(NamedTuple):
    """Where a work stands: first and last slot worked (both inclusive) and its crew.

    ``crew`` is empty for outside work. ``machines`` says which unit of each machine it holds.
    """

    start: int
    end: int
    crew: str = ""
    machines: tuple[tuple[str, int], ...] = ()


class Score(NamedTuple):
    """The objective, most important part first; lower is better, compared as a tuple.

    Attributes
    ----------
    late
        Days late times job weight, summed over jobs with a promise.
    upset
        Crew-days on which crews work for other yards than published, the nearer the heavier.
    finish
        Sum over jobs of the last counted slot worked.
    untidy
        Crews sent to and fro, rented machines standing idle and customs passed over, in points.
    """

    late: int
    upset: int = 0
    finish: int = 0
    untidy: int = 0

    @property
    def main(self) -> tuple[int, int, int]:
        """What bounds and proofs speak of: promises, upset and finishes, not tidiness."""
        return self[:3]


class Stop(Protocol):
    """Asked now and then whether to stop; the caller's object holds the clock or the work budget."""

    def __call__(self) -> bool:
        """Return True once it is time to hand back the best so far."""
        ...


@dataclass(frozen=True, slots=True)
class Plan:
    """A placement for every work of a world, by work id."""

    placements: Mapping[str, Placement]

    def __getitem__(self, work: str) -> Placement:
        """Return the placement of a work."""
        return self.placements[work]


@dataclass(frozen=True, slots=True)
class Result:
    """A plan with its account: how good it is, what is proven, how it was found.

    Attributes
    ----------
    score
        Recomputed from the dates, never taken from a solver's word.
    bound
        No plan of this world can score below it.
    rule
        Which priority rule or method found it.
    tried
        Passes or rounds made.
    keeps
        Day (its number on the axis) that was fixed as published: the bound is one of plans that keep it; None
        if none was.
    """

    plan: Plan
    score: Score
    bound: Score
    status: Status
    seed: int
    rule: str
    tried: int
    trace: tuple[tuple[int, Score], ...] = field(default=())
    keeps: int | None = None

    def __post_init__(self) -> None:
        """Refuse an answer better than the best possible."""
        if self.score < self.bound:
            raise SchedulingError(
                f"a plan scoring {self.score} beats its own bound {self.bound}",
                remedy="report this: the bound or the plan is wrong",
            )
