"""Reads the first screen: who goes where on the next working day, what needs a person, the promises."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

from crews.services.roll import read_rolls
from jobs import models
from jobs.services.company.short_handed import effects_of
from jobs.services.numbers.library_words import machine_name
from jobs.services.sky.outlook import said_of_plan
from jobs.services.telling.speech import say_day, say_time
from jobs.services.telling.words import say
from jobs.services.world.lacking import nobody_of
from jobs.services.world.row_days import stretches
from jobs.trade.work import Sentence

from .frame import how_it_stands, is_late, local, promise_words, published_plan
from .needs import read_needs
from .odds import kept_of
from .said import Saying, read_said
from .sky import Sky, read_sky

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from crews.services.roll import Roll, Rolls
    from jobs.services.world.lacking import Nobody

    from .needs import Need

LIKELY_KEPT = 0.5
"""A promise with worse odds needs somebody: it is likelier missed than kept."""
HORIZON = timedelta(days=10)


class Stand(NamedTuple):
    """One work of a crew on the day: hours, yard, work, machines."""

    begins: str
    job: str
    slug: str
    uid: str
    work: str
    machines: str
    trouble: str


class CrewDay(NamedTuple):
    """One crew's day; no stands means free. ``gone`` says who will be missing, ``roll`` who is today."""

    crew: str
    slug: str
    starts: str
    stands: tuple[Stand, ...]
    gone: str
    roll: Roll


class Promise(NamedTuple):
    """How one promise stands; ``odds`` says what the weather may do to it, empty where nothing was said."""

    job: str
    slug: str
    finish: str
    words: str
    odds: str
    at_risk: bool


@dataclass(frozen=True, slots=True)
class TomorrowPage:
    """The next working day, read from the published plan."""

    day: date
    is_tomorrow: bool
    crews: tuple[CrewDay, ...]
    skies: tuple[Sky, ...]
    needs: tuple[Need, ...]
    promises: tuple[Promise, ...]
    plan: models.Plan | None
    sent: datetime | None
    jobs: int
    said: tuple[Saying, ...]


def read_tomorrow(now: datetime) -> TomorrowPage:
    """Read the first screen in a bounded number of queries."""
    plan = published_plan()
    nobody = nobody_of(plan)
    rows = _rows(plan, now) if plan else []
    day = _next_day(rows, now)
    return TomorrowPage(
        day=day,
        is_tomorrow=day == now.date() + timedelta(days=1),
        crews=tuple(_crew_days(plan, rows, day, read_rolls(now.date(), day), nobody)),
        skies=read_sky(
            _yards(rows, day), day, now, works=[row.activity for row in rows if _begins(row, day)]
        ),
        needs=tuple(read_needs(plan, now, nobody)),
        promises=tuple(_promises(plan, nobody)),
        plan=plan,
        sent=plan.published_at.astimezone(now.tzinfo) if plan and plan.published_at else None,
        jobs=models.Job.objects.filter(state__in=models.Job.OPEN).count(),
        said=read_said(now, plan.published_at if plan else None),
    )


def _rows(plan: models.Plan, now: datetime) -> list[models.PlanRow]:
    """Crew work of the next days."""
    near = plan.rows.filter(
        crew__isnull=False,
        finish__gt=now,
        start__lt=now + HORIZON,
        activity__job__state__in=models.Job.OPEN,
    )
    return list(near.select_related("activity__job", "crew", "lent").order_by("start"))


def _next_day(rows: Iterable[models.PlanRow], now: datetime) -> date:
    """The next day on which a crew works; tomorrow if none does."""
    days = {stretch.day for row in rows for stretch in stretches(row)}
    return min((d for d in days if d > now.date()), default=now.date() + timedelta(days=1))


def _yards(rows: Iterable[models.PlanRow], day: date) -> list[models.Job]:
    """Yards that are worked in on a day, each once."""
    found = {row.activity.job.pk: row.activity.job for row in rows if _begins(row, day)}
    return list(found.values())


def _crew_days(
    plan: models.Plan | None,
    rows: Sequence[models.PlanRow],
    day: date,
    rolls: Rolls,
    nobody: Nobody,
) -> Iterable[CrewDay]:
    effects = effects_of(replace(rolls, first=day, last=day), plan)
    trouble = {uid: _waits(name) for uid, name in nobody.follow.items()}
    trouble |= {effect.uid: effect.words for effect in effects}
    stands: dict[int, list[tuple[datetime, Stand]]] = {}
    for row in rows:
        begins = _begins(row, day)
        if begins is None:
            continue
        for crew in row.crews:
            stand = _stand(row, begins, trouble.get(row.activity.uid, ""))
            stands.setdefault(crew.pk, []).append((begins, stand))
    for crew in rolls.crews:
        found = sorted(stands.get(crew.pk, []), key=lambda pair: pair[0])
        starts = found[0][1].begins if found else ""
        gone = _gone(rolls.on(crew, day)) if found else ""
        told = tuple(stand for _, stand in found)
        yield CrewDay(crew.name, crew.slug, starts, told, gone, rolls.on(crew, rolls.first))


def _waits(work: str) -> str:
    """Say that a work waits for one that nobody is there for."""
    return say(Sentence("nobody-stand", {"work": work}))


def _gone(roll: Roll) -> str:
    """Who will be missing, and who leads then."""
    if not roll.missing:
        return ""
    names = " and ".join(one.name for one in roll.missing)
    leads = f"; {roll.leads or 'nobody'} leads" if roll.lead_away else ""
    return f"Without {names}{leads}"


def _begins(row: models.PlanRow, day: date) -> datetime | None:
    """When the row's work begins on a day, on the yard's clock."""
    return next((it.begins for it in stretches(row) if it.day == day), None)


def _stand(row: models.PlanRow, begins: datetime, trouble: str) -> Stand:
    machines = ", ".join(machine_name(kind).lower() for kind, _, _ in row.machines)
    activity, job = row.activity, row.activity.job
    return Stand(
        say_time(begins), job.name, job.slug, activity.uid, activity.name, machines, trouble
    )


def _promises(plan: models.Plan | None, nobody: Nobody) -> Iterable[Promise]:
    if plan is None:
        return
    outlooks = said_of_plan(plan)
    for planned in (
        plan.jobs.filter(job__state__in=models.Job.OPEN).select_related("job").order_by("finish")
    ):
        job = planned.job
        said = outlooks.get(job.uid)
        odds = said.promise_odds if said else None
        words, at_risk = how_it_stands(planned, job, nobody)
        yield Promise(
            job.name,
            job.slug,
            say_day(local(planned.finish, job).date()),
            words,
            _odds_words(said, planned, job),
            at_risk or (odds is not None and odds < LIKELY_KEPT),
        )


def _odds_words(said: models.Outlook | None, planned: models.JobPlan, job: models.Job) -> str:
    """``promise of Fri 31 Jul kept in 8 of 10 futures; safe to promise Wed 29 Jul``."""
    if said is None:
        return ""
    safe = f"safe to promise {say_day(local(said.p80, job).date())}"
    if is_late(planned, job):
        return f"{promise_words(planned, job)}; {safe}"
    if not (kept := kept_of(said)) or job.promised_on is None:
        return safe
    return f"promise of {say_day(job.promised_on)} kept {kept}; {safe}"
