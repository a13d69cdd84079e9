"""What a walk near an old plan reads once: whose work is whose, and where each stood."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from jobs.scheduling.crew_days import CrewDays
from jobs.scheduling.upset import counted_days, tours

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.scheduling.crew_days import CrewDay
    from jobs.scheduling.crew_days import Found as Visits
    from jobs.scheduling.placing.board import Found
    from jobs.scheduling.placing.repair import Mender
    from jobs.scheduling.placing.ways import Way
    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import World

MOST_KNOWN = 100_000
"""Places of works whose crew-days are remembered."""


class Standing:
    """The works on a mender's board, by number, and their old places.

    Attributes
    ----------
    of
        The job of each work, by number.
    members, counted
        By job the works that may be moved, and those that make its finish.
    movable
        Jobs with works that may be moved.
    after, before
        Works tied to each work that come later and sooner, those that have begun left out.
    users
        Works that use each machine.
    told
        Last slot of each yard in the old plan, by number; -1 where it had none.
    stood
        Old places, of works that could have them still.
    visits
        Works by the crew-day and job that they were to make a visit.
    crew_days
        The count of crew-days as the board stands; empty until works are counted in.
    with_crew
        Works that keep each crew busy as the board stands, in the order they came.
    """

    def __init__(
        self, mender: Mender, before: World, old: Mapping[str, Placement], last_lost: int
    ) -> None:
        self.board, self.ready = mender.board, mender.ready
        self.works, self.per_day = self.ready.works, self.ready.per_day
        self.free, self.turn = mender.free, mender.turn
        self.jobs = list(self.ready.world.jobs)
        self.number = {name: n for n, name in enumerate(self.jobs)}
        self.of = [self.number[work.job] for work in self.works]
        self.members = self._by_job(self.free)
        self.counted = self._by_job(i for i, work in enumerate(self.works) if work.counts)
        self.told = [self._told(n, old) for n in range(len(self.jobs))]
        self.movable = [n for n, members in enumerate(self.members) if members]
        self.after: list[list[int]] = [[] for _ in self.works]
        self.before: list[list[int]] = [[] for _ in self.works]
        for i, j in self.board.lots.first:
            if i not in self.ready.fixed and j not in self.ready.fixed:
                self.after[i].append(j)
                self.before[j].append(i)
        self._held = {
            id(way): work.held_by(way.option.crew)
            for work, ways in zip(self.works, self.board.lots.ways, strict=True)
            for way in ways
        }
        self._known: dict[tuple[int, int, int], Visits] = {}
        self.with_crew: dict[str, dict[int, None]] = defaultdict(dict)
        self.users = self._fans()
        days = counted_days(before, last_lost)
        self.crew_days = CrewDays(self._tours(before, old), days, self.per_day)
        places = ((i, self._stood(i, old.get(self.works[i].id))) for i in self.free)
        self.stood = {i: place for i, place in places if place is not None}
        self.visits = self._visits()

    def _by_job(self, works: Iterable[int]) -> list[list[int]]:
        found: list[list[int]] = [[] for _ in self.jobs]
        for i in works:
            found[self.of[i]].append(i)
        return found

    def _told(self, n: int, old: Mapping[str, Placement]) -> int:
        names = [self.works[i].id for i in self.counted[n]]
        return max((old[name].end for name in names if name in old), default=-1)

    def _fans(self) -> dict[str, list[int]]:
        users: dict[str, list[int]] = defaultdict(list)
        for i in self.free:
            for machine in self.works[i].machines:
                users[machine].append(i)
        return users

    def _tours(self, before: World, old: Mapping[str, Placement]) -> dict[CrewDay, frozenset[int]]:
        return {
            key: frozenset(self.number[job] for job in jobs if job in self.number)
            for key, jobs in tours(before, old).items()
        }

    def _stood(self, i: int, at: Placement | None) -> Found | None:
        """Where and by whom a work was to be done, if its slots are still those."""
        if at is None or at.start < 0:
            return None
        for way in self.board.lots.ways[i]:
            if way.option.crew == at.crew and set(way.units) <= set(at.machines):
                place = way.rank[at.start]
                last = way.opened[place + way.slots - 1]
                if (way.opened[place], last) == (at.start, at.end):
                    return at.start, at.end, way
        return None

    def _visits(self) -> dict[tuple[CrewDay, int], list[int]]:
        found: dict[tuple[CrewDay, int], list[int]] = defaultdict(list)
        for i, (start, end, way) in self.stood.items():
            for crew in self.held(way):
                for visit in self.crew_days.of(crew, self.of[i], way.bits, (start, end)):
                    found[visit].append(i)
        return found

    def held(self, way: Way | None) -> tuple[str, ...]:
        """Crews that a work keeps busy when it is done in one way: one, and one lent to it."""
        return self._held[id(way)] if way is not None else ()

    def moved(self, i: int) -> bool:
        """Return True if a work does not stand where it stood."""
        board = self.board
        return self.stood.get(i) != (board.start[i], board.end[i], board.by[i])

    def count(self, i: int, sign: int) -> None:
        """Count the crew-days of a work as it stands in (1) or out (-1)."""
        board = self.board
        way, start = board.by[i], board.start[i]
        if way is None:
            return
        place = i, start, id(way)
        visits = self._known.get(place)
        if visits is None:
            visits = self._known[place] = self._visited(i, way, (start, board.end[i]))
        if visits:
            self.crew_days.count(visits, sign)
        for crew in self._held[place[2]]:
            if sign > 0:
                self.with_crew[crew][i] = None
            else:
                del self.with_crew[crew][i]

    def _visited(self, i: int, way: Way, span: tuple[int, int]) -> Visits:
        if len(self._known) > MOST_KNOWN:
            self._known.clear()
        of, bits = self.of[i], way.bits
        return [v for crew in self.held(way) for v in self.crew_days.of(crew, of, bits, span)]

    def recount(self) -> None:
        """Count everything anew as the board stands."""
        self.crew_days.clear()
        self.with_crew.clear()
        for i, at in self.ready.fixed.items():
            for crew in self.works[i].held_by(at.crew):
                bits, span = self.ready.held(i, at).bits, (at.start, at.end)
                self.crew_days.count(self.crew_days.of(crew, self.of[i], bits, span), 1)
        for i in self.free:
            self.count(i, 1)
