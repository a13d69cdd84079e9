"""The judge's checks on one work by itself: placed, allowed, able, equipped, in open slots.

A work that has *started* is fact: only what is left of it is looked at, and its record must be kept.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from jobs.trade.work import Sentence

from .case import Breach

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jobs.scheduling.result import Placement
    from jobs.scheduling.world import Done, Work

    from .case import Case


def check_each(case: Case) -> Iterator[Breach]:
    """Everything that can be wrong with works one at a time."""
    yield from _presence(case)
    for work, at in case.works():
        if work.done is not None:
            yield from _record(case, work, work.done, at)
            continue
        yield from _bounds(case, work, at)
        yield from _pins(case, work, at)
        yield from _crew(case, work, at)
        yield from _machines(case, work, at)
        yield from _slots(case, work, at)
        yield from _one_go(case, work, at)


def _presence(case: Case) -> Iterator[Breach]:
    """Every work is planned, nothing else is, and all of it lies within the time planned for."""
    given = case.plan.placements
    for work in case.world.works.values():
        if work.id not in given:
            yield _breach("missing", work)
        elif work.id not in case.placed:
            yield _breach("off-axis", work)
    for stray in given:
        if stray not in case.world.works:
            yield Breach("unknown", (stray,), Sentence("judge-unknown", {"work": stray}))


def _record(case: Case, work: Work, done: Done, at: Placement) -> Iterator[Breach]:
    """What has happened stays as it happened; running work goes on at once, with the same crew."""
    if (at.start, at.crew) != (done.start, done.crew) or done.end not in {None, at.end}:
        yield _breach("record", work)
    elif done.end is None:
        left = work.crews.get(done.crew, work.slots)
        yield from _length(case, work, at, _open_from(case, work, case.world.now, left))


def _bounds(case: Case, work: Work, at: Placement) -> Iterator[Breach]:
    """Nothing new starts in the past, nor before its job is ours to work on."""
    now, release = case.world.now, case.job(work.id).release
    if at.start < now:
        yield _late(case, "past", work, now)
    elif at.start < release:
        yield _late(case, "release", work, release)


def _pins(case: Case, work: Work, at: Placement) -> Iterator[Breach]:
    """What a person fixed by hand is kept: not before, not after, by whom."""
    pin = work.pin
    if pin.not_before is not None and at.start < pin.not_before:
        yield _late(case, "pin-before", work, pin.not_before)
    if pin.not_after is not None and at.end > pin.not_after:
        limit = case.say(work.id, case.ends(work.id, pin.not_after))
        stands = case.say(work.id, case.ends(work.id))
        yield _breach("pin-after", work, limit=limit, stands=stands)
    if pin.crew and at.crew != pin.crew:
        yield _breach("pin-crew", work, crew=case.crew_name(pin.crew))


def _crew(case: Case, work: Work, at: Placement) -> Iterator[Breach]:
    """Work is given to a crew that is able to do it, outside work to none of ours."""
    if work.crews and not at.crew:
        yield _breach("crew-none", work)
    elif work.crews and at.crew not in work.crews:
        yield _breach("crew-unable", work, crew=case.crew_name(at.crew))
    elif not work.crews and at.crew:
        yield _breach("crew-outside", work, crew=case.crew_name(at.crew))


def _machines(case: Case, work: Work, at: Placement) -> Iterator[Breach]:
    """Work holds as many units of each machine as it needs, each of them one that there is."""
    units = set(at.machines)
    held = Counter(name for name, unit in units if case.owned(name, unit))
    if len(units) < len(at.machines) or len(units) > held.total() or held != Counter(work.machines):
        yield _breach("machines", work)


def _slots(case: Case, work: Work, at: Placement) -> Iterator[Breach]:
    """Work begins in an open slot and ends in the n-th one from there."""
    if not case.open_to(work.id, at.start):
        yield _breach("closed", work, stands=case.say(work.id, case.begins(work.id)))
        return
    needed = work.crews.get(at.crew, 0) if work.crews else work.slots
    if needed:
        yield from _length(case, work, at, _open_from(case, work, at.start, needed))


def _one_go(case: Case, work: Work, at: Placement) -> Iterator[Breach]:
    """What cannot stop half way is begun and ended on one day."""
    axis = case.axis(work.id)
    if work.one_go and axis.day(at.start) != axis.day(at.end):
        yield _breach(
            "one-go",
            work,
            first=axis.day(at.start).isoformat(),
            last=axis.day(at.end).isoformat(),
        )


def _open_from(case: Case, work: Work, first: int, count: int) -> list[int]:
    """Return the first ``count`` slots open to a work; fewer if the axis ends before."""
    found: list[int] = []
    for slot in range(max(first, 0), case.axis(work.id).size):
        if len(found) == count:
            break
        if case.open_to(work.id, slot):
            found.append(slot)
    return found if len(found) == count else []


def _length(case: Case, work: Work, at: Placement, slots: list[int]) -> Iterator[Breach]:
    """Work ends with its last slot; one that cannot be ended within the axis has none."""
    if slots[-1:] != [at.end]:
        yield _breach("length", work, stands=case.say(work.id, case.ends(work.id)))


def _late(case: Case, kind: str, work: Work, slot: int) -> Breach:
    """A start that comes before a slot it may not come before."""
    return _breach(
        kind,
        work,
        limit=case.say(work.id, case.begins(work.id, slot)),
        stands=case.say(work.id, case.begins(work.id)),
    )


def _breach(kind: str, work: Work, **values: str | int) -> Breach:
    return Breach(kind, (work.id,), Sentence(f"judge-{kind}", {"work": work.name, **values}))
