"""Reads what the house lacks for a plan, in words, with both remedies: hire somebody, or give a crew the skill."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.services.numbers.library_words import machine_name
from jobs.services.telling.speech import say_people, say_skill, say_span
from jobs.services.telling.words import say
from jobs.services.world.lacking import nobody_of, too_few_of
from jobs.trade.work import Sentence

from .frame import local

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator


FEW = 6


class Lack(NamedTuple):
    """A work that lacks people, or machines; ``uid`` names it where somebody can be hired for it."""

    work: str
    job: str
    slug: str
    uid: str
    why: str


class Lacking(NamedTuple):
    """All that is lacking for a plan: ``title`` and ``why`` are of the works that nobody can do."""

    title: str = ""
    why: str = ""
    hands: tuple[Lack, ...] = ()
    machines: tuple[Lack, ...] = ()

    @property
    def few(self) -> bool:
        """True if all can be read at a glance."""
        return len(self.hands) <= FEW


NOTHING = Lacking()


def read_lacking(plan: models.Plan | None, rows: Iterable[models.PlanRow] | None = None) -> Lacking:
    """Read what a plan lacks; no query if it lacks nothing, three at the most.

    Parameters
    ----------
    rows
        The plan's rows, if it is not stored.
    """
    works = nobody_of(plan).works
    if rows is None:
        rows = models.PlanRow.objects.filter(plan=plan, activity__in=works) if works else ()
    spans = {row.activity_id: row for row in rows}
    works = tuple(sorted(works, key=lambda work: spans[work.pk].start))
    hands = [lacks_hands(work, work.job, _when(spans[work.pk], work.job)) for work in works]
    days = plan.lacks.get("finding", 0) if plan and hands else 0
    return lacking(hands, map(_machines, too_few_of(plan)), finding=days)


def lacking(hands: Iterable[Lack], machines: Iterable[Lack] = (), *, finding: int = 0) -> Lacking:
    """Return what is lacking with its head, and the working days reckoned with to find somebody."""
    found = tuple(hands)
    one = len(found) == 1
    title = _say("nobody-title-one") if one else _say("nobody-title", count=len(found))
    why = _say("nobody-why")
    if finding:
        why = f"{why} {_say('nobody-finding-one') if finding == 1 else _say('nobody-finding', days=finding)}"
    return Lacking(title, why, found, tuple(machines))


def lacks_hands(work: models.Activity, job: models.Job, when: str) -> Lack:
    """Return a work that nobody can do: when it is planned, and what it would take."""
    why = _say("nobody-line", when=when, people=say_people(work.least), skill=say_skill(work.skill))
    return Lack(work.name, job.name, job.slug, work.uid, why)


def why_nobody(work: models.Activity) -> str:
    """Return what nobody can do a work for the lack of, and that its days are no promise."""
    return _say("nobody-story", people=say_people(work.least), skill=say_skill(work.skill))


def no_safe_day(works: str) -> str:
    """Return that no day is safe to promise, and which works nobody is there for."""
    return _say("nobody-promise", works=works)


def lines_of(found: Lacking) -> Iterator[str]:
    """Yield it line by line, for a terminal."""
    if found.hands:
        yield f"{found.title}. {found.why}"
        yield from (f"  {lack.work}, {lack.job}: {lack.why}" for lack in found.hands)
    yield from (f"{lack.work}, {lack.job}: {lack.why}" for lack in found.machines)


def _machines(told: tuple[models.Activity, str, int, int]) -> Lack:
    work, kind, needed, there = told
    why = _say("nobody-machines", kind=machine_name(kind).lower(), needed=needed, there=there)
    return Lack(work.name, work.job.name, work.job.slug, "", why)


def _when(row: models.PlanRow, job: models.Job) -> str:
    return say_span(local(row.start, job).date(), local(row.finish, job).date())


def _say(key: str, **values: str | int) -> str:
    return say(Sentence(key, values))
