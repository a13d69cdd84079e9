"""Which crew works for which yards on which day, counted in and out while works are moved about."""

from __future__ import annotations

from collections import Counter, defaultdict
from itertools import islice
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

CrewDay = tuple[str, int]
Found = list[tuple[CrewDay, int]]


class CrewDays:
    """The count as it stands, and the crew-days that differ from an old plan's.

    Parameters
    ----------
    was
        Jobs (numbers) by crew and day in the old plan, on the days that count.
    days
        The days that count, by number on the axis.
    per_day
        Slots in a day.

    Attributes
    ----------
    wrong
        Crew-days that differ, with the number of jobs by which they do.
    visits
        Days on which a crew was to be in a yard, rising.
    """

    def __init__(
        self, was: Mapping[CrewDay, frozenset[int]], days: frozenset[int], per_day: int
    ) -> None:
        self.was = {key: jobs for key, jobs in was.items() if key[1] in days}
        self.days, self.per_day = days, per_day
        self.clear()
        self.visits: dict[tuple[str, int], list[int]] = defaultdict(list)
        for crew, day in sorted(self.was, key=lambda key: key[1]):
            for job in self.was[crew, day]:
                self.visits[crew, job].append(day)

    def clear(self) -> None:
        """Forget what was counted in."""
        self.wrong = {key: len(jobs) for key, jobs in self.was.items()}
        self._now: dict[CrewDay, Counter[int]] = defaultdict(Counter)

    def of(self, crew: str, job: int, bits: int, span: tuple[int, int]) -> Found:
        """Return the crew-days of a work done in some slots, first and last given."""
        per_day, days = self.per_day, self.days
        start, end = max(span[0], 0), span[1]
        return [
            ((crew, day), job)
            for day in range(start // per_day, end // per_day + 1)
            if day in days
            and bits >> max(start, day * per_day)
            & ((2 << (min(end, day * per_day + per_day - 1) - max(start, day * per_day))) - 1)
        ]

    def count(self, found: Sequence[tuple[CrewDay, int]], sign: int) -> None:
        """Count works on crew-days in (1) or out (-1)."""
        counts, wrong = self._now, self.wrong
        for key, job in found:
            count = counts[key]
            before = count[job]
            count[job] = before + sign
            if before == 0 or before + sign == 0:
                meant = job in self.was.get(key, ())
                wrong[key] = wrong.get(key, 0) + (1 if (before == 0) != meant else -1)
                if not wrong[key]:
                    del wrong[key]

    def differing(self, key: CrewDay) -> list[int]:
        """Jobs that a crew works for on a day and was not to, or the other way round."""
        there = {job for job, count in self._now[key].items() if count > 0}
        return sorted(there ^ self.was.get(key, frozenset()))

    def strange(self, crew: str, job: int, span: tuple[int, int]) -> int:
        """Count the days of a place on which the crew was not to be in the yard and is not yet."""
        days = range(span[0] // self.per_day, span[1] // self.per_day + 1)
        return sum(
            day in self.days
            and job not in self.was.get((crew, day), ())
            and self._now[crew, day][job] <= 0
            for day in days
        )

    def next_visits(self, crew: str, job: int, slot: int, most: int) -> list[int]:
        """First slots of the next days on which a crew was to be in a yard."""
        starts = (day * self.per_day for day in self.visits.get((crew, job), ()))
        return list(islice((start for start in starts if start > slot), most))
