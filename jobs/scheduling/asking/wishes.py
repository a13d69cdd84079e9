"""What people wish of a plan, one by one: days and crews fixed by hand, links by hand, at-mosts, promises.

All of these could be given up by somebody; the rest of a world (rules, waits, crews, working days) is taken as
it is. A world can be made with any of its wishes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from jobs.scheduling.world import Pin, Tie, Work, World

HOUR, DAY = 60, 24 * 60


class Kind(StrEnum):
    """What is wished."""

    NOT_BEFORE = "not-before"
    NOT_AFTER = "not-after"
    CREW = "crew"
    LINK = "link"
    AT_MOST = "at-most"
    PROMISE = "promise"


Key = tuple[Kind, str, int | None]


@dataclass(frozen=True, slots=True)
class Wish:
    """One wish: of what kind, about which work (job for a promise), by which of the world's links."""

    kind: Kind
    about: str
    sentence: Sentence
    tie: int | None = None

    @property
    def key(self) -> Key:
        """What tells it from every other wish of its world."""
        return self.kind, self.about, self.tie


def wishes_of(world: World, *, promises: bool = False) -> tuple[Wish, ...]:
    """Return all wishes of a world that bind what is still to come, job by job.

    Parameters
    ----------
    promises
        Wish that every job is done by its promised day, too.
    """
    found = [*_pins(world), *_links(world)]
    if promises:
        found += _promises(world)
    number = {job: n for n, job in enumerate(world.jobs)}
    return tuple(sorted(found, key=lambda wish: number[_job(world, wish)]))


def world_with(world: World, wishes: Sequence[Wish]) -> World:
    """Return a world with some of its wishes, promises among them as last days, and without the others."""
    kept = {wish.key for wish in wishes}
    works = {}
    for work in world.works.values():
        pin = replace(
            work.pin,
            not_before=work.pin.not_before if (Kind.NOT_BEFORE, work.id, None) in kept else None,
            not_after=work.pin.not_after if (Kind.NOT_AFTER, work.id, None) in kept else None,
            crew=work.pin.crew if (Kind.CREW, work.id, None) in kept else "",
        )
        if (Kind.PROMISE, work.job, None) in kept and work.counts:
            pin = _by(pin, world.jobs[work.job].promise)
        works[work.id] = work if pin == work.pin else replace(work, pin=pin)
    ties = (_tie(tie, n, kept) for n, tie in enumerate(world.ties))
    return replace(world, works=works, ties=tuple(tie for tie in ties if tie is not None))


def _by(pin: Pin, last: int | None) -> Pin:
    """A pin that also ends by a slot."""
    if last is None or (pin.not_after is not None and pin.not_after <= last):
        return pin
    return replace(pin, not_after=last)


def _tie(tie: Tie, n: int, kept: set[Key]) -> Tie | None:
    """A link as far as it is wished: who wishes the most time after a work wishes to come after it."""
    soon = (Kind.AT_MOST, tie.after, n) in kept
    if not (tie.rule or soon or (Kind.LINK, tie.after, n) in kept):
        return None
    if tie.lag.at_most is None or soon:
        return tie
    return replace(tie, lag=replace(tie.lag, at_most=None))


def _pins(world: World) -> Iterator[Wish]:
    for work in world.works.values():
        pin = work.pin
        if work.done is not None:
            continue
        if pin.not_before is not None:
            yield _pinned(world, work, Kind.NOT_BEFORE, day=_day(world, work, pin.not_before))
        if pin.not_after is not None:
            yield _pinned(world, work, Kind.NOT_AFTER, day=_day(world, work, pin.not_after))
        if pin.crew:
            crew = world.crews.get(pin.crew)
            yield _pinned(world, work, Kind.CREW, crew=crew.name if crew else pin.crew)


def _pinned(world: World, work: Work, kind: Kind, **values: str) -> Wish:
    told = {"work": work.name, "job": world.jobs[work.job].name, **values}
    return Wish(kind, work.id, Sentence(f"wish-{kind}", told))


def _links(world: World) -> Iterator[Wish]:
    for n, tie in enumerate(world.ties):
        after = world.works[tie.after]
        if after.done is not None:
            continue
        told = {
            "work": after.name,
            "before": world.works[tie.before].name,
            "job": world.jobs[after.job].name,
        }
        if not tie.rule:
            yield Wish(Kind.LINK, tie.after, Sentence("wish-link", told), n)
        if tie.lag.at_most is not None:
            amount = -(-tie.lag.at_most // HOUR)
            unit = "hour" if amount == 1 else "hours"
            if tie.lag.at_most % DAY == 0 and tie.lag.at_most > DAY:
                unit, amount = "days", tie.lag.at_most // DAY
            sentence = Sentence(f"wish-at-most-{unit}", {**told, "amount": amount})
            yield Wish(Kind.AT_MOST, tie.after, sentence, n)


def _promises(world: World) -> Iterator[Wish]:
    counted = {work.job for work in world.works.values() if work.counts}
    for job in world.jobs.values():
        if job.promise is not None and job.id in counted:
            day = world.axes[job.zone].day(job.promise).isoformat()
            yield Wish(
                Kind.PROMISE, job.id, Sentence("wish-promise", {"job": job.name, "day": day})
            )


def _job(world: World, wish: Wish) -> str:
    return wish.about if wish.kind is Kind.PROMISE else world.works[wish.about].job


def _day(world: World, work: Work, slot: int) -> str:
    axis = world.axes[world.jobs[work.job].zone]
    return axis.day(min(slot, axis.size - 1)).isoformat()
