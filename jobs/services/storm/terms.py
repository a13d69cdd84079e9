"""Terms of one reckoning: said, listed, taken away, kept for good; and those that cannot all be kept."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from jobs import clock, models
from jobs.scheduling.asking.conflicts import can_be_planned
from jobs.scheduling.asking.overtime import with_days
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.storm.terms import OF_DAYS, Term, TermKind, world_under
from jobs.scheduling.storm.weekends import without_weekends
from jobs.services.by_hand.works import Pins, pin
from jobs.services.history import Who, record
from jobs.services.telling.errors import say_error
from jobs.services.telling.speech import say_day, say_span
from jobs.trade.errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from crews.models import Crew
    from jobs.scheduling.storm.ways_out import Storm
    from jobs.scheduling.world import World

Kind = models.Term.Kind
OF_YARDS = (Kind.KEEP_YARD,)
OF_ALL = (Kind.NO_WEEKENDS,)


class TermRefusedError(Exception):
    """Why something cannot be made a term: the field to look at, and a plain sentence."""

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(reason)
        self.field, self.reason = field, reason


@transaction.atomic
def add_term(term: models.Term, *, by: str, now: datetime) -> models.Term:
    """Say what must hold in the ways out against the published plan; said twice, it is one.

    Raises
    ------
    TermRefusedError
        If it lacks what its kind is about, or nothing would be left.
    """
    _check(term)
    about = {
        "kind": term.kind,
        "against": term.against,
        "activity": None if term.kind in (*OF_YARDS, *OF_ALL) else term.activity,
        "job": term.job if term.kind in OF_YARDS else None,
        "crew": term.crew if term.kind == Kind.NOT_CREW else None,
        "day": term.day if term.kind in OF_DAYS else None,
    }
    row, new = models.Term.objects.get_or_create(**about, defaults={"by": by, "at": now})
    if new:
        record("term said", by=by, at=now, job=_job(row), after={"term": _kept(row)})
    return row


def _check(term: models.Term) -> None:
    if term.kind in OF_ALL:
        return
    if term.kind in OF_YARDS:
        if term.job is None:
            raise TermRefusedError("about", "Say which yard.")
        return
    if term.activity is None:
        raise TermRefusedError("about", "Say which work; a yard can only stay as published.")
    if term.kind in OF_DAYS and term.day is None:
        raise TermRefusedError("day", "Say the day.")
    if term.kind == Kind.NOT_CREW and term.crew is None:
        raise TermRefusedError("crew", "Say which crew.")
    if term.activity.started_at is not None:
        raise TermRefusedError(
            "about", f"{term.activity.name} is under way and stays with its crew."
        )


@transaction.atomic
def remove_term(term: models.Term, *, by: str, now: datetime) -> None:
    """Let something no longer be a term."""
    record("term taken away", by=by, at=now, job=_job(term), before={"term": _kept(term)})
    term.delete()


@transaction.atomic
def keep_for_good(term: models.Term, *, by: str, now: datetime) -> None:
    """Pin a work by hand to the days or the crew of a term, which is no longer needed then.

    Raises
    ------
    TermRefusedError
        If it is about no days and no crew to keep, or the work lies elsewhere by now.
    CannotAllBeKept
        If it is proven that not everything wished by hand can be kept with it.
    """
    row = term.activity
    if row is None or not may_be_pinned(term):
        raise TermRefusedError("kind", "Only days of a work and its crew can be kept for good.")
    pins = Pins(row.not_before, row.not_after, row.only_crew, row.hired)
    try:
        pin(row, _pinned(term, pins), Who(by, now), revision=row.revision)
    except TradeError as error:
        raise TermRefusedError("crew", say_error(error)) from error
    term.delete()


def _pinned(term: models.Term, pins: Pins) -> Pins:
    """What is fixed by hand once a term holds for good."""
    if term.kind == Kind.NOT_BEFORE:
        return pins._replace(not_before=term.day)
    if term.kind == Kind.NOT_AFTER:
        return pins._replace(not_after=term.day)
    if term.kind == Kind.KEEP_CREW:
        return pins._replace(crew=published_crew(term))
    days = published_days(term)
    return pins if days is None else pins._replace(not_before=days[0], not_after=days[1])


def may_be_pinned(term: models.Term) -> bool:
    """Return True if a term is about days or the crew of a work, which can be pinned by hand."""
    if term.kind == Kind.KEEP_CREW:
        return published_crew(term) is not None
    return term.kind in (Kind.KEEP_DAYS, Kind.NOT_BEFORE, Kind.NOT_AFTER)


def published_crew(term: models.Term) -> Crew | None:
    """Return the crew of a term's work in the plan it is held against; None if it has none."""
    row = _row(term)
    return row.crew if row is not None else None


def published_days(term: models.Term) -> tuple[date, date] | None:
    """Return the days of a term's work in the plan it is held against; None if it was not planned."""
    row = _row(term)
    if row is None or term.activity is None:
        return None
    zone = ZoneInfo(term.activity.job.zone)
    return row.start.astimezone(zone).date(), row.finish.astimezone(zone).date()


def _row(term: models.Term) -> models.PlanRow | None:
    rows = models.PlanRow.objects.filter(plan=term.against, activity=term.activity)
    return rows.select_related("crew").first()


def read_terms(published: models.Plan) -> list[models.Term]:
    """Return the terms against a plan, as they were said."""
    rows = models.Term.objects.filter(against=published)
    return list(rows.select_related("activity__job", "job", "crew", "against"))


def digest(terms: Sequence[models.Term]) -> str:
    """Return what tells answers under some terms from answers under others; empty for none."""
    if not terms:
        return ""
    told = sorted(f"{t.kind} {t.activity_id} {t.job_id} {t.crew_id} {t.day}" for t in terms)
    return sha256("\n".join(told).encode()).hexdigest()


def storm_under(storm: Storm, terms: Sequence[models.Term]) -> Storm:
    """Return a storm whose world is narrowed by terms.

    Raises
    ------
    NoPlan
        If nobody is left who could do a work.
    """
    world = world_under(storm.world, storm.published, map(_pure, _of_works(terms)))
    if any(term.kind in OF_ALL for term in terms):
        world = without_weekends(_not_asked(world))
    return replace(storm, world=world)


def _not_asked(world: World) -> World:
    """Nobody is asked for a day he need not work."""
    crews = {name: replace(crew, optional=0) for name, crew in with_days(world, ()).crews.items()}
    return replace(world, crews=crews)


def at_odds(storm: Storm, terms: Sequence[models.Term]) -> list[models.Term]:
    """Return terms that cannot all be kept, and none of which could stay if all the others did.

    Empty if a plan keeps all of them, or if there is none whatever is given up.
    """
    if _fits(storm, terms) or not _fits(storm, ()):
        return []
    kept = list(terms)
    for term in terms:
        fewer = [one for one in kept if one is not term]
        if not _fits(storm, fewer):
            kept = fewer
    return kept


def say_odds(storm: Storm, terms: Sequence[models.Term]) -> str:
    """Return which terms cannot all be kept, in words; empty where none are to blame."""
    found = [say_term(term) for term in at_odds(storm, terms)]
    if len(found) == 1:
        return f"This cannot be kept: {found[0]}"
    return f"These cannot all be kept: {'; '.join(found)}" if found else ""


def _fits(storm: Storm, terms: Sequence[models.Term]) -> bool:
    try:
        world: World = storm_under(storm, terms).world
    except NoPlan:
        return False
    return can_be_planned(world)[0] is True


def _of_works(terms: Sequence[models.Term]) -> list[models.Term]:
    return [term for term in terms if term.kind not in OF_ALL]


def _pure(term: models.Term) -> Term:
    return Term(
        TermKind(term.kind),
        work=term.activity.uid if term.activity else "",
        job=term.job.uid if term.job else "",
        crew=term.crew.slug if term.crew else "",
        day=term.day,
    )


def _job(term: models.Term) -> models.Job | None:
    return term.job or (term.activity.job if term.activity else None)


def _kept(term: models.Term) -> str:
    with clock.telling_on(clock.EVER):
        return say_term(term)


def say_term(term: models.Term) -> str:
    """Return a term in words."""
    if term.kind in OF_ALL:
        return "Nobody works weekends"
    if term.job is not None:
        return f"{term.job.name} stays as published"
    row = term.activity
    about = f"{row}, {row.job.name}," if row else ""
    if term.kind == Kind.KEEP_CREW:
        return f"{about} keeps its crew"
    if term.kind == Kind.NOT_CREW:
        return f"{about} not by {term.crew}"
    if term.kind == Kind.KEEP_DAYS:
        days = published_days(term)
        return f"{about} stays on {say_span(*days)}" if days else f"{about} stays on its days"
    when = say_day(term.day) if term.day else ""
    return f"{about} not before {when}" if term.kind == Kind.NOT_BEFORE else f"{about} by {when}"
