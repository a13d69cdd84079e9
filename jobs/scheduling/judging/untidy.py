"""What is less than tidy in a plan, counted slot by slot: crews to and fro, idle rented machines, customs passed over."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from functools import cache
from typing import TYPE_CHECKING

from jobs.scheduling import weights
from jobs.trade.customs import EARLY, FRIDAY, LATE_IN_WEEK, POURS
from jobs.trade.work import Shift

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from datetime import date

    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import Work

    from .case import Case

DAY = timedelta(days=1)
SATURDAY = 5
Calls = dict[tuple[str, "date"], dict[str, set[int]]]
"""By crew and day: the yards it works in, each with its slots."""


def count_untidy(case: Case) -> int:
    """Add up the points of all that is untidy from today on."""
    calls = _calls(case)
    axis = case.world.axis
    today = axis.day(case.world.now)
    ahead = [yards for (_, day), yards in calls.items() if day >= today]
    return (
        weights.HOP * sum(len(yards) - 1 for yards in ahead)
        + weights.LONE * sum(_alone(case, slots) for yards in ahead for slots in yards.values())
        + weights.RETURN * sum(day >= today for day in _returns(calls))
        + weights.IDLE * sum(_idle_days(case))
        + sum(_customs(case, work, at) for work, at in case.works() if work.done is None)
    )


def _calls(case: Case) -> Calls:
    found: Calls = defaultdict(lambda: defaultdict(set))
    for name, slots in case.worked.items():
        for crew in case.held_crews(name):
            for slot in slots:
                found[crew, case.axis(name).day(slot)][case.job(name).id].add(slot)
    return found


def _alone(case: Case, slots: set[int]) -> bool:
    """Return True for a visit of one slot, unless it is one at dawn or in the evening."""
    positions = case.world.axis.positions
    return len(slots) == 1 and positions[min(slots) % len(positions)].shift is Shift.DAY


def _returns(calls: Calls) -> Iterator[date]:
    """Days on which a crew is back in a yard it left within a few days, having worked elsewhere on a day between."""
    for (crew, day), yards in calls.items():
        for job in yards:
            lately = [day - n * DAY for n in range(1, weights.RETURN_DAYS + 1)]
            left = next((d for d in lately if job in calls.get((crew, d), ())), None)
            if left is not None and any((crew, d) in calls for d in lately if d > left):
                yield day


def _idle_days(case: Case) -> Iterator[int]:
    """Idle days of each rented unit."""
    needed: dict[tuple[str, int], set[int]] = defaultdict(set)
    worked: dict[tuple[str, int], set[int]] = defaultdict(set)
    for name, at in case.placed.items():
        per_day = case.axis(name).per_day
        for unit in at.machines:
            if case.owned(*unit) and at.end >= 0:
                needed[unit].update(range(max(at.start, 0) // per_day, at.end // per_day + 1))
                worked[unit].update(slot // per_day for slot in case.worked[name])
    for (machine, number), days in needed.items():
        least = case.world.machines[machine].hire[number : number + 1]
        if any(least):
            yield _idle(sorted(days), worked[machine, number], least[0])


def _idle(days: list[int], worked: Collection[int], least: int) -> int:
    """Idle days of the cheapest hires that cover some days; of equal ones the fewest, then the least idle."""

    @cache
    def best(first: int) -> tuple[int, int, int]:
        found = [(0, 0, 0)] if first == len(days) else []
        for last in range(first, len(days)):
            length = days[last] - days[first] + 1
            used = sum(days[first] <= day <= days[last] for day in worked)
            paid, hires, idle = best(last + 1)
            found.append((paid + max(length, least), hires + 1, idle + length - used))
        return min(found)

    return best(0)[2]


def _customs(case: Case, work: Work, at: Placement) -> int:
    """Points for the customs that a work passes over."""
    axis = case.axis(work.id)
    if work.template in POURS:
        into_rest = any(_into_rest(case, work.id, slot) for slot in case.worked[work.id])
        return weights.POUR * into_rest
    if work.template in EARLY:
        late = axis.day(at.start).weekday() >= LATE_IN_WEEK
        return weights.PLANTING * (late + _past_noon(case, work.id, at.start))
    return 0


def _into_rest(case: Case, work: str, slot: int) -> bool:
    """Return True if a slot is on a Friday afternoon, or the next weekday is a holiday."""
    day = case.axis(work).day(slot)
    weekdays = (day + n * DAY for n in range(1, 8) if (day + n * DAY).weekday() < SATURDAY)
    friday = day.weekday() == FRIDAY and _past_noon(case, work, slot)
    return friday or next(weekdays) in case.world.holidays


def _past_noon(case: Case, work: str, slot: int) -> bool:
    """Return True after the half of the day in which the day begins."""
    positions = case.axis(work).positions
    morning = next((it.half for it in positions if it.shift is Shift.DAY), 0)
    return positions[slot % len(positions)].half > morning
