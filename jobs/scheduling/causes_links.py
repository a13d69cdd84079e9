"""What holds a work back by itself or by its links: forerunners and waits, dates fixed, now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.trade.work import Clock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.trade.work import Lag

    from .reading import Cause, Reading
    from .ready import Bind

HOUR = 60
DAY = 24 * HOUR


def link_causes(reading: Reading, i: int) -> Iterator[Cause]:
    """Each link into a work, with its wait."""
    for bind in reading.ready.binds(i, reading.placed[i].crew):
        at = reading.placed[bind.before]
        event = at.end if bind.from_finish else at.start
        yield (
            _to_finish(reading, bind, event) if bind.to_finish else _to_start(reading, bind, event)
        )


def _to_start(reading: Reading, bind: Bind, event: int) -> Cause:
    wait, values = _wait(bind.tie.lag)
    edge = "done" if bind.from_finish else "begun"
    return reading.cause(
        bind.after,
        bind.earliest[event],
        f"{wait}-{edge}",
        before=reading.name(bind.before),
        since=reading.day(bind.before, event),
        **values,
    )


def _to_finish(reading: Reading, bind: Bind, event: int) -> Cause:
    bound = bind.earliest[event]
    cause = reading.cause(
        bind.after,
        bound,
        "link-finish",
        before=reading.name(bind.before),
        limit=reading.when(bind.after, bound, finish=True),
    )
    return cause._replace(start=reading.fit(bind.after, 0, bound))


def _wait(lag: Lag) -> tuple[str, dict[str, int]]:
    """Kind of a wait, for its sentence, and its amount in the unit it is spoken of."""
    if lag.amount <= 0:
        return "link", {}
    if lag.clock is Clock.ELAPSED:
        hours = -(-lag.amount // HOUR)
        unit, amount = ("hour", hours) if lag.amount % DAY else ("day", lag.amount // DAY)
    else:
        unit, amount = str(lag.clock), lag.amount
    return (unit, {}) if amount == 1 else (f"{unit}-many", {"amount": amount})


def hasty_causes(reading: Reading, i: int) -> Iterator[Cause]:
    """Work that must be followed soon waits until its follower is able."""
    for bind in reading.ready.back[i]:
        if bind.earliest_event is None or _driven(reading, bind):
            continue
        at = reading.placed[bind.after]
        bound = bind.earliest_event[at.end if bind.to_finish else at.start]
        cause = reading.cause(
            i,
            bound,
            "hasty",
            after=reading.name(bind.after),
            hours=-(-(bind.tie.lag.at_most or 0) // HOUR),
            stands=reading.when(bind.after, at.start),
        )
        yield cause._replace(start=reading.fit(i, 0, bound)) if bind.from_finish else cause


def _driven(reading: Reading, bind: Bind) -> bool:
    """Return True if the follower stands where it does because of the forerunner."""
    at, after = reading.placed[bind.before], reading.placed[bind.after]
    bound = bind.earliest[at.end if bind.from_finish else at.start]
    soonest = (
        reading.fit(bind.after, 0, bound) if bind.to_finish else reading.fit(bind.after, bound)
    )
    return soonest >= after.start


def own_causes(reading: Reading, i: int) -> Iterator[Cause]:
    """A date fixed by hand, the day the yard is ours, and now."""
    world, work = reading.ready.world, reading.ready.works[i]
    release, pinned = world.jobs[work.job].release, work.pin.not_before
    if pinned is not None:
        yield reading.cause(i, pinned, "pin", limit=reading.when(i, pinned))
    if release > world.now:
        yield reading.cause(i, release, "release", limit=reading.when(i, release))
    yield reading.cause(i, world.now, "now", limit=reading.when(i, world.now))
