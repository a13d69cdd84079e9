"""What is less than tidy in a plan: the least part of its score, which never pays for the others.

Crews that go from yard to yard within a day, that come back to a yard within a few days, or come for one slot;
rented machines that stand idle; customs of the trade that are passed over. Days before today are not counted.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from jobs.trade.customs import EARLY, FRIDAY, LATE_IN_WEEK, POURS
from jobs.trade.work import Shift

from .calendars import work_bits
from .rentals import hires_of
from .weights import HOP, IDLE, LONE, PLANTING, POUR, RETURN, RETURN_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import date

    from .result import Placement
    from .world import Work, World

SATURDAY = 5
DAY = timedelta(days=1)


class Stint(NamedTuple):
    """Slots a work is done in: its yard, the first slot held, the last, and a bitmap of those worked from ``first`` on."""

    job: str
    first: int
    last: int
    worked: int


class Untidy(NamedTuple):
    """What is untidy, counted.

    Attributes
    ----------
    hops
        Yards beyond the first, by crew and day.
    returns
        Times a crew comes back to a yard within a few days, having worked elsewhere on a day in between.
    lone
        Visits of a crew to a yard for one day slot alone.
    pours, planting
        Customs passed over: pours into days off; trees and sod begun late in the week, or in the day.
    idle
        Days on hire on which nobody works with it, by machine.
    """

    hops: int = 0
    returns: int = 0
    lone: int = 0
    pours: int = 0
    planting: int = 0
    idle: tuple[tuple[str, int], ...] = ()

    @property
    def points(self) -> int:
        """All together, as the score has it."""
        return (
            HOP * self.hops
            + RETURN * self.returns
            + LONE * self.lone
            + POUR * self.pours
            + PLANTING * self.planting
            + IDLE * sum(days for _, days in self.idle)
        )


def untidy_of(world: World, placed: Mapping[str, Placement]) -> Untidy:
    """Count what is untidy in placements; those of works that the world does not know are left aside."""
    count = Count(world)
    crews: dict[str, list[Stint]] = defaultdict(list)
    units: dict[tuple[str, int], list[Stint]] = defaultdict(list)
    pours = planting = 0
    for name, at in placed.items():
        if name not in world.works:
            continue
        work = world.works[name]
        stint = count.stint(work, at.start, at.end, count.bits(work, at))
        for crew in work.held_by(at.crew):
            crews[crew].append(stint)
        for machine, unit in at.machines:
            if count.hire(machine, unit):
                units[machine, unit].append(stint)
        more = count.customs(work, stint)
        pours, planting = pours + more[0], planting + more[1]
    found = [count.crew(stints) for stints in crews.values()]
    hops, returns, lone = (
        (sum(counts) for counts in zip(*found, strict=True)) if found else (0, 0, 0)
    )
    idle: Counter[str] = Counter()
    for (machine, unit), stints in units.items():
        idle[machine] += count.idle(count.hire(machine, unit), stints)
    return Untidy(hops, returns, lone, pours, planting, tuple(sorted((+idle).items())))


class Count:
    """Counts what is untidy crew by crew, machine by machine, work by work."""

    def __init__(self, world: World) -> None:
        axis = world.axis
        self.world, self.axis, self.per_day = world, axis, axis.per_day
        self.today = world.now // axis.per_day
        self.by_day = axis.day_mask(Shift.DAY)
        day = [position for position in axis.positions if position.shift is Shift.DAY]
        morning = day[0].half if day else 0
        self.afternoon = sum(1 << n for n, it in enumerate(axis.positions) if it.half > morning)
        self._bits: dict[tuple[str, Shift, str], int] = {}

    def bits(self, work: Work, at: Placement) -> int:
        """Bitmap of the slots open to a placed work, with its crew and machines."""
        if work.window is not None or work.short or work.lent:
            bits = work_bits(self.world, work, at.crew)
        else:
            key = work.job, work.shift, at.crew
            if key not in self._bits:
                self._bits[key] = work_bits(self.world, work, at.crew)
            bits = self._bits[key]
        for machine, unit in at.machines:
            bits &= self.world.machines[machine].open[unit]
        return bits

    def stint(self, work: Work, start: int, end: int, bits: int) -> Stint:
        """Return the slots worked between two slots."""
        first = max(start, 0)
        return Stint(work.job, first, end, bits >> first & (1 << max(end + 1 - first, 0)) - 1)

    def hire(self, machine: str, unit: int) -> int:
        """Return the fewest days paid for a unit each time it is rented; 0 for one that is owned."""
        hire = self.world.machines[machine].hire
        return hire[unit] if unit < len(hire) else 0

    def days(self, stint: Stint) -> Iterator[tuple[int, int]]:
        """Yield the days worked on, by number on the axis, each with the positions worked."""
        day, position = divmod(stint.first, self.per_day)
        worked, whole = stint.worked << position, (1 << self.per_day) - 1
        while worked:
            if worked & whole:
                yield day, worked & whole
            worked >>= self.per_day
            day += 1

    def crew(self, stints: Iterable[Stint]) -> tuple[int, int, int]:
        """Count a crew's hops, returns and lone visits."""
        found: dict[int, dict[str, int]] = {}
        for stint in stints:
            for day, positions in self.days(stint):
                yards = found.setdefault(day, {})
                yards[stint.job] = yards.get(stint.job, 0) | positions
        hops = returns = lone = 0
        last: dict[str, tuple[int, int]] = {}
        for turn, day in enumerate(sorted(found)):
            yards = found[day]
            if day >= self.today:
                hops += len(yards) - 1
                for job, positions in yards.items():
                    lone += not positions & positions - 1 and bool(positions & self.by_day)
                    seen, seen_on = last.get(job, (turn, day))
                    returns += turn - seen > 1 and day - seen_on <= RETURN_DAYS
            for job in yards:
                last[job] = turn, day
        return hops, returns, lone

    def idle(self, least: int, stints: Iterable[Stint]) -> int:
        """Count the days on hire on which nobody works with a unit."""
        needed: set[int] = set()
        worked: set[int] = set()
        for stint in stints:
            needed.update(range(stint.first // self.per_day, stint.last // self.per_day + 1))
            worked.update(day for day, _ in self.days(stint))
        hires = hires_of(self._dates(needed), least=least, worked=self._dates(worked))
        return sum(len(hire.idle) for hire in hires)

    def _dates(self, days: Iterable[int]) -> set[date]:
        return {self._date(day) for day in days}

    def _date(self, day: int) -> date:
        return self.axis.first + day * DAY

    def customs(self, work: Work, stint: Stint) -> tuple[int, int]:
        """Count the customs that a work passes over: of pours, of planting; none once it has begun."""
        if work.done is not None:
            return 0, 0
        if work.template in POURS:
            return int(any(self._rests_after(*day) for day in self.days(stint))), 0
        if work.template in EARLY:
            day, position = divmod(stint.first, self.per_day)
            late = self._date(day).weekday() >= LATE_IN_WEEK
            return 0, late + (self.afternoon >> position & 1)
        return 0, 0

    def _rests_after(self, day: int, positions: int) -> bool:
        """Return True on a Friday afternoon, and on a day before a holiday, weekends between left out."""
        date = self._date(day)
        following = date + DAY
        while following.weekday() >= SATURDAY:
            following += DAY
        friday = date.weekday() == FRIDAY and bool(positions & self.afternoon)
        return friday or following in self.world.holidays
