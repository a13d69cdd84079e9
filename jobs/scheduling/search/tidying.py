"""The last pass over a plan: tidier, with no promise, upset or finish worse.

A visit is what a crew does in a yard on a day. One that makes a plan untidy is tried on other days within its room,
and with another able crew, which takes over or exchanges what it does meanwhile. So many places are
tried and no more, in a fixed order, and fewer only where a clock says that time is up.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.placing.spots import spots_of
from jobs.scheduling.placing.units import placements_on
from jobs.scheduling.untidy import Count
from jobs.scheduling.weights import HOP, IDLE, LONE, PLANTING, POUR, RETURN, RETURN_DAYS

from .neighbourhoods import narrowed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from jobs.scheduling.placing.ways import Way
    from jobs.scheduling.result import Stop
    from jobs.scheduling.untidy import Stint

    from .search import Search

TRIES = 1_000
"""Places tried at most: what is gained comes early, and the search before it is worth more."""
AWAY_DAYS = 5
"""Calendar days by which a visit moves at most: further on, it would cost too much of its room to slip."""

Visit = tuple[str, list[int]]
"""A crew, and its works in one yard on one day."""


class Place(NamedTuple):
    """Where and with whom a work is to begin, and by when it must be done."""

    start: int
    end_by: int
    way: Way


def tidy(search: Search, stop: Stop | None) -> None:
    """Make the plan on a search's board tidier; ``stop`` is asked before each place tried, if given."""
    _Tidier(search, stop).run()


class _Tidier:
    def __init__(self, search: Search, stop: Stop | None) -> None:
        self.stop = stop
        self.search, self.board, self.left = search, search.board, TRIES
        self.ready, self.per_day = search.board.ready, search.per_day
        self.count = Count(self.ready.world)
        self.hired = {name for name, it in self.ready.world.machines.items() if any(it.hire)}
        self.on: dict[str, set[int]] = defaultdict(set)
        self._join(range(len(self.ready.works)))

    def run(self) -> None:
        """Mend visit after visit until nothing gets better."""
        better = True
        while better:
            better = False
            for crew, works in list(self._visits()):
                if self._done():
                    return
                still = all(i in self.on[crew] for i in works)
                if still and self._blame(crew, works) > 0:
                    better |= self._mend(crew, works)

    def _done(self) -> bool:
        return self.left <= 0 or (self.stop is not None and self.stop())

    def _visits(self) -> Iterator[Visit]:
        """Visits from today on of works that may move, by crew and day; requests stand where others want them."""
        for crew in sorted(self.on):
            found: dict[tuple[int, str], list[int]] = defaultdict(list)
            for i in sorted(self.on[crew]):
                for day, _ in self.count.days(self._stint(i)):
                    found[day, self.ready.works[i].job].append(i)
            for _, works in sorted(found.items()):
                if all(self.board.by[i] and not self.ready.works[i].request for i in works):
                    yield crew, works

    def _mend(self, crew: str, works: Sequence[int]) -> bool:
        """Try other days, then other crews; False if all is as good as it was."""
        tries = self._other_places(works[0]) if len(works) == 1 else self._other_days(works)
        return any(not self._done() and self._attempt(places) for places in tries) or any(
            not self._done() and self._attempt(places) for places in self._other_crews(crew, works)
        )

    def _other_places(self, i: int) -> list[dict[int, Place]]:
        """Places of a work in its room, the nearest first, one for each crew and half of a day."""
        board, start, per_day = self.board, self.board.start[i], self.per_day
        away, end_by = AWAY_DAYS * per_day, self._end_by(i)
        back = board.mark([i])
        board.remove(i)
        window = narrowed(board, i, (start - away, start + away, 0, end_by), ())
        spots = [(spot, first) for spot in spots_of(board, i, window) for first in spot.starts]
        board.go_back(back)
        found: dict[tuple[str, int, int], Place] = {}
        for spot, first in sorted(spots, key=lambda it: it[1]):
            half = self.count.axis.positions[first % per_day].half
            key = spot.way.option.crew, first // per_day, half
            found.setdefault(key, Place(first, end_by, spot.way))
        return [{i: place} for place in sorted(found.values(), key=lambda it: abs(it[0] - start))]

    def _other_days(self, works: Sequence[int]) -> Iterator[dict[int, Place]]:
        """A whole visit some days sooner or later, the nearest first."""
        for away in sorted({*range(-AWAY_DAYS, AWAY_DAYS + 1)} - {0}, key=lambda it: (abs(it), it)):
            yield {
                i: Place(self.board.start[i] + away * self.per_day, self._end_by(i), way)
                for i in works
                if (way := self.board.by[i])
            }

    def _other_crews(self, crew: str, works: Sequence[int]) -> Iterator[dict[int, Place]]:
        """The same hours with another crew, which gives what it does then in exchange."""
        start, end = self.board.start, self.board.end
        first, last = min(start[i] for i in works), max(end[i] for i in works)
        for other in sorted(self.ready.world.crews):
            theirs = [i for i in self.on[other] if end[i] >= first and start[i] <= last]
            if other != crew and not set(theirs) & set(works):
                given = [(i, self._way(i, other)) for i in works]
                given += [(i, self._way(i, crew)) for i in sorted(theirs)]
                places = {i: Place(start[i], self._end_by(i), way) for i, way in given if way}
                if len(places) == len(given):
                    yield places

    def _way(self, i: int, crew: str) -> Way | None:
        ways = self.board.lots.ways[i]
        return next((way for way in ways if way.option.crew == crew), None)

    def _end_by(self, i: int) -> int:
        """Last slot in which a work may end: the finish stands, and no return visit comes later."""
        counts = self.ready.works[i].counts
        return self.search.ends[self.search.of[i]] if counts else self.board.end[i]

    def _attempt(self, places: Mapping[int, Place]) -> bool:
        """Put works elsewhere; back they go unless that is tidier and nothing of more weight is worse."""
        self.left -= 1
        works, before = list(places), self._upset()
        crews = {crew for i in works for crew in self._crews(i)}
        crews |= {c for i, it in places.items() for c in self._held(i, it.way.option.crew)}
        days = self._days(works, places)
        points, back = self._points(works, crews, days), self.board.mark(works)
        self._lift(works)
        for i in works:
            self.board.remove(i)
        if self._put(places, (days[1] + 1 - RETURN_DAYS) * self.per_day - 1):
            self._count_in(works)
            if self._points(works, crews, days) < points and self._upset() <= before:
                return True
            self._lift(works)
        self.board.go_back(back)
        self._count_in(works)
        return False

    def _days(self, works: Sequence[int], places: Mapping[int, Place]) -> tuple[int, int]:
        """Days between which moving works can change a count, with some to spare."""
        first = min(min(self.board.start[i], places[i].start) for i in works)
        last = max(self.board.end[i] for i in works)
        spare = 2 * AWAY_DAYS + RETURN_DAYS
        return first // self.per_day - spare, last // self.per_day + spare

    def _put(self, places: Mapping[int, Place], latest: int) -> bool:
        """Put works in their places, if all that concerns them lets them stand there.

        Another crew may begin in the same slot and go on weeks later: not after the latest slot whose day is counted.
        """
        board = self.board
        for i, (start, end_by, way) in sorted(places.items(), key=lambda it: it[1].start):
            if not 0 <= start <= board.last_slot:
                return False
            low, by, least, last = board.bounds(i, board.least[i])
            within = max(low, start), min(by, start), least, min(last, end_by, latest)
            found = board.find_by(i, within, (way,)) if within[0] <= within[1] else None
            if found is None:
                return False
            board.place(i, *found)
        touched = {j for i in places for j in self.ready.after[i] if j not in self.ready.fixed}
        return all(board.stands(i) for i in touched | set(places))

    def _lift(self, works: Sequence[int]) -> None:
        """Count works out where they stand."""
        for i in works:
            for crew in self._crews(i):
                self.on[crew].discard(i)
        if self.search.kept is not None:
            self.search.kept.count(works, -1)

    def _count_in(self, works: Sequence[int]) -> None:
        """Count works in where they stand."""
        self._join(works)
        if self.search.kept is not None:
            self.search.kept.count(works, 1)

    def _join(self, works: Iterable[int]) -> None:
        for i in works:
            for crew in self._crews(i):
                self.on[crew].add(i)

    def _crews(self, i: int) -> tuple[str, ...]:
        """Crews that a work holds where it stands."""
        fact, way = self.ready.fixed.get(i), self.board.by[i]
        return self._held(i, fact.crew if fact else way.option.crew if way else "")

    def _held(self, i: int, crew: str) -> tuple[str, ...]:
        return self.ready.works[i].held_by(crew)

    def _upset(self) -> int:
        return self.search.kept.upset if self.search.kept is not None else 0

    def _stint(self, i: int) -> Stint:
        fact, way = self.ready.fixed.get(i), self.board.by[i]
        bits = self.ready.held(i, fact).bits if fact else way.bits if way else 0
        return self.count.stint(self.ready.works[i], self.board.start[i], self.board.end[i], bits)

    def _blame(self, crew: str, works: Sequence[int]) -> int:
        """Points that would be saved if a visit were not there; idle machines count wherever they are used."""
        first = min(self.board.start[i] for i in works) // self.per_day - RETURN_DAYS
        last = max(self.board.end[i] for i in works) // self.per_day + RETURN_DAYS
        points = self._points(works, (crew,), (first, last))
        self.on[crew] -= set(works)
        without = self._points((), (crew,), (first, last))
        self.on[crew] |= set(works)
        return points - without

    def _points(self, works: Sequence[int], crews: Iterable[str], days: tuple[int, int]) -> int:
        """Points of some crews between two days, and of the customs and rented machines of some works."""
        low, high = days[0] * self.per_day, (days[1] + 1) * self.per_day
        start, end, found = self.board.start, self.board.end, 0
        for crew in crews:
            near = [i for i in self.on[crew] if end[i] >= low and start[i] < high]
            hops, returns, lone = self.count.crew(map(self._stint, near))
            found += HOP * hops + RETURN * returns + LONE * lone
        for i in works:
            pours, planting = self.count.customs(self.ready.works[i], self._stint(i))
            found += POUR * pours + PLANTING * planting
        machines = self.hired.intersection(
            name for i in works for name in self.ready.works[i].machines
        )
        return found + IDLE * self._idle(machines) if machines else found

    def _idle(self, machines: set[str]) -> int:
        """Idle days of some rented machines."""
        held: dict[tuple[str, int], list[Stint]] = defaultdict(list)
        for i, at in placements_on(self.board).items():
            for name, unit in at.machines:
                if name in machines and self.count.hire(name, unit):
                    held[name, unit].append(self._stint(i))
        return sum(self.count.idle(self.count.hire(*unit), it) for unit, it in held.items())
