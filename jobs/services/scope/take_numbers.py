"""New numbers for a job: what would change if it took them, and taking them."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction

from crews.services.setup import ChangedMeanwhileError
from jobs.services.history import record
from jobs.services.numbers.library import (
    adopt_newest,
    current_library,
    has_newer,
    newest_for,
    owns_for,
)
from jobs.services.numbers.own_words import tell_own
from jobs.services.scope.takeoff import expand_job, yard_of
from jobs.services.telling.speech import say_people, spoken_days
from jobs.trade.expand import expand_scope

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime
    from decimal import Decimal

    from jobs import models
    from jobs.trade.scope import Expansion
    from jobs.trade.work import Link

    Ends = tuple[str, str, str]


class Change(NamedTuple):
    """One thing that would be otherwise: what, how it is, how it would be."""

    what: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a job would change to; ``seen`` tells whether it is still what somebody looked at."""

    seen: str
    library: str
    newer_library: bool
    works: tuple[Change, ...]
    waits: tuple[Change, ...]
    figures: tuple[Change, ...]
    """Figures of one's own that were set, changed or reset since."""


def propose(job: models.Job) -> Proposal | None:
    """Return what the newest numbers would change in a job; None if it has them.

    Raises
    ------
    TradeError
        If what is to be built can no longer be told in the newest library.
    """
    if not has_newer(job):
        return None
    expansion = expand_scope(yard=yard_of(job), library=newest_for(job))
    version = current_library().version
    return Proposal(
        seen=_seen(job),
        library=version,
        newer_library=job.library != version,
        works=tuple(_works(job, expansion)),
        waits=tuple(_waits(job, expansion)),
        figures=tuple(_figures(job)),
    )


@transaction.atomic
def take_newest(job: models.Job, *, seen: str, by: str, now: datetime) -> None:
    """Reckon a job with the newest numbers from now on.

    Raises
    ------
    ChangedMeanwhileError
        If they are not those that somebody looked at.
    TradeError
        If what is to be built can no longer be told in the newest library.
    """
    if not has_newer(job):
        return
    if seen != _seen(job):
        raise ChangedMeanwhileError
    before = {"library": job.library, "own": job.own}
    adopt_newest(job)
    expand_job(job, now=now)
    after = {"library": job.library, "own": job.own}
    record("numbers taken", by=by, at=now, job=job, before=before, after=after)


def _seen(job: models.Job) -> str:
    told = repr((current_library().version, sorted(map(str, owns_for(job)))))
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def _works(job: models.Job, expansion: Expansion) -> Iterable[Change]:
    stored = {
        a.key: a for a in job.activities.filter(retired=False).exclude(key__startswith="hand/")
    }
    for activity in expansion.activities:
        row = stored.pop(str(activity.key), None)
        if row is None:
            yield Change(activity.name, "not done", _takes(activity.spread.typical, activity.least))
            continue
        share = activity.spread.typical * row.share / 100
        if (row.days, row.least) != (share.quantize(row.days), activity.least):
            was, now = _takes(row.days, row.least), _takes(share, activity.least)
            yield Change(row.name, was, now if now != was else f"{now}, a little otherwise")
    yield from (
        Change(row.name, _takes(row.days, row.least), "left out") for row in stored.values()
    )


def _takes(days: Decimal, least: int) -> str:
    return f"{spoken_days(days)}, {say_people(least)} at the least"


def _waits(job: models.Job, expansion: Expansion) -> Iterable[Change]:
    names = {str(a.key): a.name for a in expansion.activities}
    stored = _stored(job)
    for link in expansion.links:
        row = stored.get(_ends(link))
        if row is not None and (row.lag, row.clock) != (link.lag.amount, link.lag.clock.value):
            what = f"{names[str(link.after)]}, after {names[str(link.before)].lower()}"
            yield Change(what, _span(row.lag, row.clock), _span(link.lag.amount, link.lag.clock))


def _figures(job: models.Job) -> Iterable[Change]:
    """What the figures of one's own were when they were last taken, and what they are."""
    library = current_library()
    was: dict[str, object] = dict(job.own)
    now = {own.path: own.value for own in owns_for(job)}
    for path in sorted(was.keys() | now.keys()):
        if was.get(path) != now.get(path):
            before, after = (
                tell_own(library, path, told[path]) if path in told else None for told in (was, now)
            )
            either = after or before
            assert either is not None  # noqa: S101 (the path stands in one of the two)
            yield Change(
                f"{either.name}, {either.what}",
                before.own if before else either.ours,
                after.own if after else either.ours,
            )


def _stored(job: models.Job) -> Mapping[Ends, models.Link]:
    rows = job.links.exclude(rule="").select_related("before", "after")
    return {(row.before.key, row.after.key, row.relation): row for row in rows}


def _ends(link: Link) -> Ends:
    return str(link.before), str(link.after), link.relation.value


def _span(amount: int, clock: str) -> str:
    if clock == "work":
        return f"{amount / 4:g} working days"
    if clock == "business":
        return f"{amount} business days"
    return f"{amount / 1440:g} days" if amount % 720 == 0 else f"{amount / 60:g} hours"
