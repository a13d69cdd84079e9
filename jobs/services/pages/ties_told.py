"""Links of one activity in words: what it waits for, what waits for it, which rule is lifted."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jobs.services.scope.releases import (
    release_for,
    released_by,
)
from jobs.services.telling.speech import counted
from jobs.services.telling.words import say
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from jobs import models


MINUTES = 60


class Tied(NamedTuple):
    """A link as told beside an activity: the other one, how, and why."""

    uid: str
    name: str
    how: str
    why: str


class Lifted(NamedTuple):
    """A rule that somebody says does not hold here, and why."""

    pk: int
    words: str
    why: str
    reason: str
    by: str


def tell_ties(
    links: Iterable[models.Link], end: str, releases: Mapping[int, Sequence[models.Release]]
) -> tuple[Tied, ...]:
    """Links on one side; those to retired work are not told."""
    out = []
    for link in links:
        other: models.Activity = getattr(link, end)
        if not other.retired and not link.lifted:
            why = say(Sentence(link.why[0], link.why[1])) if link.why else ""
            release = release_for(releases.get(link.before_id, ()), link.wait)
            out.append(Tied(other.uid, other.name, how(link, release), why))
    return tuple(out)


HOW = {
    "finish-to-start": "is finished",
    "start-to-start": "has started",
    "finish-to-finish": "is finished, and ends no sooner",
    "start-to-finish": "has started, and ends no sooner",
}


def how(link: models.Link, release: models.Release | None = None) -> str:
    """Return a link's relation and wait in words: ``once it is finished, 7 days later``."""
    words = f"once it {HOW[link.relation]}"
    if release is not None and release.hours * MINUTES < link.lag:
        words += f", {_span(release.hours * MINUTES, link.clock)}, {released_by(release)}"
    elif link.lag:
        words += f", {_span(link.lag, link.clock)}"
    if link.at_most:
        words += f", at most {_span(link.at_most, 'elapsed')}"
    return words


def _span(amount: int, clock: str) -> str:
    later = "later" if amount > 0 else "earlier"
    amount = abs(amount)
    if clock == "work":
        return f"{counted(amount / 4, 'working day')} {later}"
    if clock == "business":
        return f"{counted(amount, 'business day')} {later}"
    if amount % 1440 == 0:
        return f"{counted(amount // 1440, 'day')} {later}"
    return f"{counted(amount / 60, 'hour')} {later}"


def tell_lifted(link: models.Link) -> Lifted:
    """A rule taken away by hand, told from both of its ends."""
    words = f"{link.after.name} need not wait for {link.before.name.lower()}"
    why = say(Sentence(link.why[0], link.why[1])) if link.why else ""
    return Lifted(link.pk, words, why, link.reason, link.by)
