"""Where a work could stand near an old plan, as the board is: where it stood, soonest, or where it costs least."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum, auto
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.scheduling.crew_days import CrewDay
    from jobs.scheduling.placing.board import Bounds, Found
    from jobs.scheduling.placing.ways import Way

    from .standing import Standing

VISITS_ASKED = 3
"""Days on which a crew was to be in a yard anyway, that are asked for room."""


class Wish(Enum):
    """Where a work that makes room for itself goes."""

    STOOD = auto()
    """Where the old plan had it."""
    SOONEST = auto()
    """As soon as the links let it."""


@dataclass(frozen=True, slots=True)
class Aim:
    """What a try is after.

    Attributes
    ----------
    works
        Those taken out first.
    pressed
        Those that make room for themselves, where ``wish`` says.
    keep
        True if the others go where they stood when there is room.
    time_price, day_price
        What a slot later and a crew-day changed cost when places are compared.
    old_turns
        True if the works taken out first find places in their old order, not in that of now.
    hurry
        By job, a price of a slot later of its own.
    shift
        By job, how much later in turn its works come.
    ways
        Who does a pressed work that goes where it is soonest.
    shun
        A crew-day that costs double.
    """

    works: tuple[int, ...]
    pressed: frozenset[int] = frozenset()
    wish: Wish = Wish.STOOD
    keep: bool = True
    old_turns: bool = False
    time_price: float = 1.0
    day_price: float = 0.0
    hurry: Mapping[int, float] = field(default_factory=dict)
    shift: Mapping[int, float] = field(default_factory=dict)
    ways: Mapping[int, Way] = field(default_factory=dict)
    shun: CrewDay | None = None


class Room:
    """What is asked of the board."""

    def __init__(self, standing: Standing) -> None:
        self.standing, self.board = standing, standing.board

    def cheapest(self, i: int, bounds: Bounds, aim: Aim) -> Found | None:
        """Return the place that costs least by time and crew-days changed."""
        job = self.standing.of[i]
        time_price = aim.hurry.get(job, aim.time_price)
        best: Found | None = None
        cost = float("inf")
        hurdles = self.board.hurdles(i)
        for way in self.board.lots.ways[i]:
            if time_price * bounds[0] >= cost:
                break
            forbidden = self.board.taken(way, hurdles)
            within = self.board.own_bounds(way, bounds)
            crew = way.option.crew
            for start in self._starts(aim, crew, job, within[0]):
                span = (start, *within[1:])
                found = self.board.first(i, way, span, forbidden, hurdles.ground)
                if found is None or time_price * found[1] >= cost:
                    break
                strange = self._strange(aim, crew, job, found)
                price = time_price * found[1] + aim.day_price * strange
                if price < cost:
                    best, cost = (*found, way), price
                if not strange:
                    break
        return best

    def _starts(self, aim: Aim, crew: str, job: int, low: int) -> list[int]:
        """Slots from which places are looked for: as soon as can be, and on visits that were planned."""
        if not crew or not aim.day_price:
            return [low]
        starts = self.standing.crew_days.next_visits(crew, job, low, VISITS_ASKED)
        return [low, *starts]

    def _strange(self, aim: Aim, crew: str, job: int, span: tuple[int, int]) -> int:
        """Count the crew-days that a place would change, one that is shunned double and more."""
        if not crew or not aim.day_price:
            return 0
        strange, shun = self.standing.crew_days.strange(crew, job, span), aim.shun
        per_day = self.standing.per_day
        if shun and shun[0] == crew and span[0] // per_day <= shun[1] <= span[1] // per_day:
            strange += 2
        return strange

    def soonest(self, way: Way, bounds: Bounds) -> Found | None:
        """Return where a work could be if nobody else were there."""
        start, by, end, last = self.board.own_bounds(way, bounds)
        found = way.first_free(way.place_from(start, end), (by, last), 0)
        return None if found is None else (*found, way)

    def old_place(self, i: int, bounds: Bounds) -> Found | None:
        """Return where a work stood, if the links allow it still."""
        found = self.standing.stood.get(i)
        if found is None:
            return None
        low, by, least, last = self.board.own_bounds(found[2], bounds)
        return found if low <= found[0] <= by and least <= found[1] <= last else None

    def is_free(self, i: int, found: Found) -> bool:
        """Return True if nobody is in the way of a place."""
        start, end, way = found
        span = start, start, end, end
        hurdles = self.board.hurdles(i)
        taken = self.board.taken(way, hurdles)
        return self.board.first(i, way, span, taken, hurdles.ground) is not None
