"""The judge's checks on the clock on the wall: links with their waits, and ground kept free.

An event is the begin of a work's first slot or the end of its last one. How a wait is read:

- *elapsed*: the follower's event comes at least so many minutes after the forerunner's, and where a cold
  day slows it, so many more.
- *work*: among the slots that begin no earlier than the forerunner's event and lie before the
  follower's first slot, at least so many are open to the follower and its crew, machines left aside;
  a bound on the follower's finish counts its last slot too. A lead counts the other way.
- *business*: the forerunner's day is not counted; so many business days pass, and the follower's
  event comes no earlier than 00:00 of the business day after the last of them. A lead goes back so
  many business days, to 00:00.

A wait of nothing is the same on every clock: the one event not before the other.
A link to work that has begun no longer binds: nobody can choose that start any more.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from jobs.trade.work import Clock, Sentence

from .case import Breach

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from jobs.scheduling.world import Keepout, Tie

    from .case import Case

FRIDAY = 4


def check_clock(case: Case) -> Iterator[Breach]:
    """Every link and every hold that is not kept."""
    for tie in case.world.ties:
        if tie.before in case.placed and tie.after in case.placed and not case.started(tie.after):
            yield from _too_soon(case, tie)
            yield from _too_late(case, tie)
    yield from _keepouts(case)


def _too_soon(case: Case, tie: Tie) -> Iterator[Breach]:
    """What follows comes only when the wait after its forerunner is over."""
    if tie.lag.clock is Clock.WORK and tie.lag.amount:
        passed = _work_between(case, tie)
        if passed < tie.lag.amount:
            yield _link(case, "wait-work", tie, passed=passed, amount=tie.lag.amount)
        return
    earliest = _earliest(case, tie)
    if _follows(case, tie) < earliest:
        yield _link(case, "wait", tie, limit=case.say(tie.after, earliest))


def _too_late(case: Case, tie: Tie) -> Iterator[Breach]:
    """What must follow soon is not left too long."""
    if tie.lag.at_most is None:
        return
    latest = _precedes(case, tie) + tie.lag.at_most
    if _follows(case, tie) > latest:
        yield _link(case, "at-most", tie, limit=case.say(tie.after, latest))


def _precedes(case: Case, tie: Tie) -> int:
    """Instant of the forerunner's event."""
    return case.ends(tie.before) if tie.relation.from_finish else case.begins(tie.before)


def _follows(case: Case, tie: Tie) -> int:
    """Instant of the follower's event."""
    return case.ends(tie.after) if tie.relation.to_finish else case.begins(tie.after)


def _earliest(case: Case, tie: Tie) -> int:
    """Instant before which the follower's event may not come, by the wall clock or the calendar."""
    if tie.lag.clock is not Clock.BUSINESS or not tie.lag.amount:
        if tie.lag.clock is not Clock.ELAPSED:
            return _precedes(case, tie)
        return _precedes(case, tie) + tie.lag.amount + _by_cold(case, tie)
    at, axis = case.placed[tie.before], case.axis(tie.before)
    day = axis.day(at.end if tie.relation.from_finish else at.start)
    day = _business_day(day, tie.lag.amount, case.world.holidays)
    midnight = datetime.combine(day, time(), tzinfo=axis.zone)
    return int(midnight.timestamp()) // 60


def _by_cold(case: Case, tie: Tie) -> int:
    """Minutes that a cure takes longer, by the day on which it began."""
    at, axis = case.placed[tie.before], case.axis(tie.before)
    day = (axis.day(at.end if tie.relation.from_finish else at.start) - axis.first).days
    told = tie.lag.slower
    return told[max(0, min(day, len(told) - 1))] if told else 0


def _business_day(day: date, amount: int, holidays: frozenset[date]) -> date:
    """Return the business day after ``amount`` full ones have passed, or the one so far back."""
    left, step = (amount + 1, 1) if amount > 0 else (-amount, -1)
    while left:
        day += timedelta(days=step)
        if day.weekday() <= FRIDAY and day not in holidays:
            left -= 1
    return day


def _work_between(case: Case, tie: Tie) -> int:
    """Slots open to the follower between the two events; negative if it comes first."""
    after = case.placed[tie.after]
    first = bisect_left(case.axis(tie.after).begin, _precedes(case, tie))
    last = after.end + 1 if tie.relation.to_finish else after.start
    between = range(min(first, last), max(first, last))
    passed = sum(case.open_to_crew(tie.after, slot) for slot in between)
    return passed if first <= last else -passed


def _keepouts(case: Case) -> Iterator[Breach]:
    """Ground that must rest is not trodden on, except by those who may."""
    treading: dict[str, list[str]] = defaultdict(list)
    for work, _ in case.works():
        for place in work.treads:
            treading[place].append(work.id)
    for work, _ in case.works():
        for keepout in work.keepouts:
            for other in treading[keepout.place]:
                if not case.all_started((work.id, other)) and _intrudes(
                    case, work.id, keepout, other
                ):
                    yield _kept_out(case, work.id, keepout, other)


def _intrudes(case: Case, owner: str, keepout: Keepout, other: str) -> bool:
    """Return True if a work is on ground at rest: any part of its span counts, nights included."""
    heavy = case.world.works[other].treads[keepout.place] >= keepout.keeps_out
    if other == owner or other in keepout.exempt or not heavy:
        return False
    free = case.ends(owner)
    return case.begins(other) < free + keepout.minutes and case.ends(other) > free


def _kept_out(case: Case, owner: str, keepout: Keepout, other: str) -> Breach:
    values = {
        "work": case.name(other),
        "place": case.world.places[keepout.place].name,
        "owner": case.name(owner),
        "limit": case.say(owner, case.ends(owner) + keepout.minutes),
        "stands": case.say(other, case.begins(other)),
    }
    return Breach("keepout", (owner, other), Sentence("judge-keepout", values))


def _link(case: Case, kind: str, tie: Tie, **values: str | int) -> Breach:
    event = "finish" if tie.relation.to_finish else "start"
    stands = case.say(tie.after, _follows(case, tie))
    values = {
        "before": case.name(tie.before),
        "after": case.name(tie.after),
        "stands": stands,
        **values,
    }
    return Breach(kind, (tie.before, tie.after), Sentence(f"judge-{kind}-{event}", values))
