"""What a walk near an old plan reads once: whose work is whose, and where each stood."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from jobs.scheduling.crew_days import CrewDays
from jobs.scheduling.upset import counted_days, tours

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.scheduling.crew_days import CrewDay
    from jobs.scheduling.placing.board import Found
    from jobs.scheduling.placing.lots import Way
    from jobs.scheduling.placing.repair import Mender
    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import World


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
    able, users
        Works that each crew could do, and that use each machine.
    stood
        Old places, of works that could have them still.
    visits
        Works by the crew-day and job that they were to make a visit.
    crew_days
        The count of crew-days as the board stands; empty until works are counted in.
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
        self.movable = [n for n, members in enumerate(self.members) if members]
        self.after: list[list[int]] = [[] for _ in self.works]
        self.before: list[list[int]] = [[] for _ in self.works]
        for i, j in self.board.lots.first:
            if i not in self.ready.fixed and j not in self.ready.fixed:
                self.after[i].append(j)
                self.before[j].append(i)
        self.able, self.users = self._fans()
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

    def _fans(self) -> tuple[dict[str, list[int]], dict[str, list[int]]]:
        able: dict[str, list[int]] = defaultdict(list)
        users: dict[str, list[int]] = defaultdict(list)
        for i in self.free:
            ways = self.board.lots.ways[i]
            for crew in dict.fromkeys(held for way in ways for held in self.held(i, way)):
                able[crew].append(i)
            for machine in self.works[i].machines:
                users[machine].append(i)
        return able, users

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
            for crew in self.held(i, way):
                for visit in self.crew_days.of(crew, self.of[i], way.bits, (start, end)):
                    found[visit].append(i)
        return found

    def held(self, i: int, way: Way | None) -> tuple[str, ...]:
        """Crews that a work keeps busy when it is done in one way: one, and one lent to it."""
        return self.works[i].held_by(way.option.crew) if way is not None else ()

    def moved(self, i: int) -> bool:
        """Return True if a work does not stand where it stood."""
        board = self.board
        return self.stood.get(i) != (board.start[i], board.end[i], board.by[i])

    def count(self, i: int, sign: int) -> list[tuple[CrewDay, int]]:
        """Count the crew-days of a work as it stands in (1) or out (-1); return them."""
        board = self.board
        way, span = board.by[i], (board.start[i], board.end[i])
        found = [
            visit
            for crew in self.held(i, way)
            for visit in self.crew_days.of(crew, self.of[i], way.bits if way else 0, span)
        ]
        self.crew_days.count(found, sign)
        return found

    def recount(self) -> None:
        """Count everything anew as the board stands."""
        self.crew_days.clear()
        for i, at in self.ready.fixed.items():
            for crew in self.works[i].held_by(at.crew):
                bits, span = self.ready.held(i, at).bits, (at.start, at.end)
                self.crew_days.count(self.crew_days.of(crew, self.of[i], bits, span), 1)
        for i in self.free:
            self.count(i, 1)
