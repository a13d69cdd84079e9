"""Where a work could stand near an old plan, as the board is: where it stood, soonest, or where it costs least."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum, auto
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.placing.afoot import first_place
from jobs.scheduling.placing.hurdles import Ground, ground_of, jammed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.scheduling.crew_days import CrewDay
    from jobs.scheduling.placing.board import Bounds, Found
    from jobs.scheduling.placing.lots import Way

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


class Hurdles(NamedTuple):
    """Slots without room whoever does a work, those its ways in are full in, and the ground it needs."""

    base: int
    jam: int
    ground: Ground


FREE = Ground(0, ())


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
        hurdles = self._hurdles(i)
        for way in self.board.lots.ways[i]:
            if time_price * bounds[0] >= cost:
                break
            forbidden = hurdles.base | self.board.taken(way, hurdles.jam)
            within = self.bound(way, bounds)
            crew = way.choice.option.crew
            for start in self._starts(aim, crew, job, within[0]):
                span = (start, *within[1:])
                found = self._first_of(i, way, span, forbidden, hurdles.ground)
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

    def bound(self, way: Way, bounds: Bounds) -> Bounds:
        """Add the waits that are counted in a crew's own working time."""
        binds = way.choice.option.binds
        if not binds:
            return bounds
        start, by, end, last = bounds
        board = self.board
        for bind in binds:
            event = board.end[bind.before] if bind.from_finish else board.start[bind.before]
            bound = bind.earliest[event]
            start, end = (start, max(end, bound)) if bind.to_finish else (max(start, bound), end)
        return start, by, end, last

    def soonest(self, i: int, way: Way, bounds: Bounds) -> Found | None:
        """Return where a work could be if nobody else were there."""
        found = self._look(way, self.bound(way, bounds), 0, day=self.board.lots.day[i])
        return None if found is None else (*found, way)

    def old_place(self, i: int, bounds: Bounds) -> Found | None:
        """Return where a work stood, if the links allow it still."""
        found = self.standing.stood.get(i)
        if found is None:
            return None
        low, by, least, last = self.bound(found[2], bounds)
        return found if low <= found[0] <= by and least <= found[1] <= last else None

    def is_free(self, i: int, found: Found) -> bool:
        """Return True if nobody is in the way of a place."""
        start, end, way = found
        span = start, start, end, end
        base, jam, ground = self._hurdles(i)
        forbidden = base | self.board.taken(way, jam)
        return self._first_of(i, way, span, forbidden, ground) is not None

    def _hurdles(self, i: int) -> Hurdles:
        """Read what forbids slots to a work whoever does it."""
        board, jam = self.board, 0
        ground = ground_of(board.ledger, i) if board.lots.ground[i] else FREE
        for passage in board.ledger.demands[i].ways:
            jam |= jammed(board.ledger, passage)
        base = ground.bits
        for key in board.lots.full[i]:
            base |= board.held[key]
        return Hurdles(base, jam, ground)

    def _first_of(
        self, i: int, way: Way, bounds: Bounds, forbidden: int, ground: Ground
    ) -> tuple[int, int] | None:
        if self.board.lots.ground[i]:
            return first_place(self.board.ledger, i, way, bounds, forbidden, ground)
        return self._look(way, bounds, forbidden, day=self.board.lots.day[i])

    def _look(
        self, way: Way, bounds: Bounds, forbidden: int, *, day: int
    ) -> tuple[int, int] | None:
        """Return the first place that meets no slot forbidden; ``day`` is how many a day has for one-go work."""
        start, by, end, last = bounds
        opened, rank, slots, masks = way.opened, way.rank, way.slots - 1, self.board.masks
        place = max(rank[max(start, 0)], rank[max(end, 0)] - slots)
        while True:
            low, high = opened[place], opened[place + slots]
            if high > last or low > by:
                return None
            if day and low // day != high // day:
                place += 1
                continue
            clash = forbidden >> low & masks[high - low]
            if not clash:
                return low, high
            place = rank[low + clash.bit_length()]
