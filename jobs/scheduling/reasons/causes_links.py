"""What holds a work back by itself or by its links: forerunners and waits, dates fixed, now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.trade.work import Clock

from .causes_shared import shared_causes
from .reading import Away

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.scheduling.binds import Bind
    from jobs.trade.work import Lag

    from .reading import Cause, Reading

HOUR = 60
DAY = 24 * HOUR


def link_causes(reading: Reading, i: int) -> Iterator[Cause]:
    """Each link into a work, with its wait."""
    return (cause for _, cause in _linked(reading, i))


def _linked(reading: Reading, i: int) -> Iterator[tuple[Bind, Cause]]:
    for bind in reading.ready.binds(i, reading.placed[i].crew):
        at = reading.placed[bind.before]
        event = at.end if bind.from_finish else at.start
        told = _to_finish if bind.to_finish else _to_start
        yield bind, told(reading, bind, event)


def _to_start(reading: Reading, bind: Bind, event: int) -> Cause:
    wait, values = _wait(bind.tie.lag, reading.slower(bind, event))
    edge = "done" if bind.from_finish else "begun"
    return reading.cause(
        bind.after,
        bind.earliest[event],
        f"{wait}-{edge}",
        Away(tie=bind.tie),
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
        Away(tie=bind.tie),
        before=reading.name(bind.before),
        limit=reading.when(bind.after, bound, finish=True),
    )
    return cause._replace(start=reading.fit(bind.after, 0, bound))


def _wait(lag: Lag, slower: int) -> tuple[str, dict[str, int]]:
    """Kind of a wait, for its sentence, and its amount in the unit it is spoken of."""
    if lag.amount <= 0:
        return "link", {}
    if lag.clock is Clock.ELAPSED:
        minutes = lag.amount + slower
        hours = -(-minutes // HOUR)
        unit, amount = ("hour", hours) if minutes % DAY else ("day", minutes // DAY)
    else:
        unit, amount = str(lag.clock), lag.amount
    return (unit, {}) if amount == 1 else (f"{unit}-many", {"amount": amount})


def hasty_causes(reading: Reading, i: int) -> Iterator[Cause]:
    """Work that must be followed soon waits until its follower is able."""
    for bind in reading.ready.back[i]:
        if bind.earliest_event is None or not _held_otherwise(reading, bind):
            continue
        at = reading.placed[bind.after]
        bound = bind.earliest_event[at.end if bind.to_finish else at.start]
        cause = reading.cause(
            i,
            bound,
            "hasty",
            Away(tie=bind.tie, own="at-most"),
            after=reading.name(bind.after),
            hours=-(-(bind.tie.lag.at_most or 0) // HOUR),
            stands=reading.when(bind.after, at.start),
        )
        yield cause._replace(start=reading.fit(i, 0, bound)) if bind.from_finish else cause


def _held_otherwise(reading: Reading, bind: Bind) -> bool:
    """Return True if a follower would stand where it does without its forerunner, too."""
    j, start = bind.after, reading.placed[bind.after].start
    others = [
        *(cause for b, cause in _linked(reading, j) if b.before != bind.before),
        *shared_causes(reading, j),
        *own_causes(reading, j),
    ]
    return any(cause.start == start for cause in others)


def own_causes(reading: Reading, i: int) -> Iterator[Cause]:
    """A date fixed by hand, the day the yard is ours, and now."""
    world, work = reading.ready.world, reading.ready.works[i]
    release, pinned = world.jobs[work.job].release, work.pin.not_before
    if pinned is not None:
        yield reading.cause(i, pinned, "pin", Away(own="pin"), limit=reading.since(i, pinned))
    if release > world.now:
        limit = reading.since(i, release)
        yield reading.cause(i, release, "release", Away(own="release"), limit=limit)
    yield reading.cause(i, world.now, "now", limit=reading.when(i, world.now))
