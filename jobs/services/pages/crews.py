"""Reads the crews and machines pages: who can do what, when they work, what they have ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

from crews.models import Crew, CrewSkill, Loan, Machine, TimeOff
from crews.models.week import say_week
from crews.services.roll import read_rolls
from jobs import models
from jobs.services.company.short_handed import effects_of
from jobs.services.numbers.library_words import machine_name
from jobs.services.planning.rentals import rentals_of
from jobs.services.telling.speech import say_date, say_day, say_people, say_skill, say_span

from .frame import local, published_plan

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from crews.services.roll import Roll
    from jobs.services.planning.rentals import Rental

LOOK_AHEAD = timedelta(days=14)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


class Ahead(NamedTuple):
    """Work that a crew or machine has before it."""

    when: str
    job: str
    slug: str
    uid: str
    work: str
    extra: str


class Off(NamedTuple):
    """Days off."""

    pk: int
    when: str
    who: str
    why: str


class Gone(NamedTuple):
    """A crew or a machine that is no longer with us."""

    name: str
    slug: str
    since: str


class Lent(NamedTuple):
    """Somebody lent to another crew."""

    pk: int
    who: str
    crew: str
    when: str


@dataclass(frozen=True, slots=True)
class CrewCard:
    """One crew."""

    name: str
    slug: str
    going: str
    roll: Roll
    effects: tuple[str, ...]
    skills: tuple[tuple[str, str], ...]
    week: str
    off: tuple[Off, ...]
    ahead: tuple[Ahead, ...]


@dataclass(frozen=True, slots=True)
class MachineCard:
    """One machine, or several of a kind."""

    name: str
    slug: str
    going: str
    about: str
    hires: tuple[Rental, ...]
    off: tuple[Off, ...]
    ahead: tuple[Ahead, ...]


def read_crews(now: datetime) -> tuple[CrewCard, ...]:
    """Read every active crew, in a bounded number of queries."""
    active = Crew.objects.filter(active=True).select_related("week", "lead")
    crews, today = list(active.prefetch_related("members", "skills")), now.date()
    off = _off_by(now, "crew_id", "member__crew_id")
    plan, rolls = published_plan(), read_rolls(today, today + LOOK_AHEAD, crews)
    ahead, effects = _ahead(plan, now), effects_of(rolls, plan)
    return tuple(
        CrewCard(
            name=crew.name,
            slug=crew.slug,
            going=say_gone(crew),
            roll=rolls.on(crew, today),
            effects=tuple(f"{e.job}: {e.words}" for e in effects if crew.slug in e.crews),
            skills=tuple((say_skill(row.skill), _able(row)) for row in crew.skills.all()),
            week=say_week(crew.week.masks) + _asked(plan, crew),
            off=tuple(off.get(crew.pk, ())),
            ahead=tuple(ahead["crew", crew.slug]) if ("crew", crew.slug) in ahead else (),
        )
        for crew in crews
    )


def lent(now: datetime) -> tuple[Lent, ...]:
    """Return who is lent to another crew today or later."""
    loans = Loan.objects.filter(last__gte=now.date()).select_related("member__crew", "crew")
    return tuple(
        Lent(
            loan.pk,
            f"{loan.member}, {loan.member.crew}",
            str(loan.crew),
            say_span(loan.first, loan.until),
        )
        for loan in loans
        if loan.until >= max(loan.first, now.date())
    )


def read_machines(now: datetime) -> tuple[MachineCard, ...]:
    """Read every active machine, in a bounded number of queries."""
    off = _off_by(now, "machine_id")
    plan = published_plan()
    ahead = _ahead(plan, now)
    rentals = [one for one in rentals_of(plan) if one.hire.last >= now.date()]
    return tuple(
        MachineCard(
            name=machine.name,
            slug=machine.slug,
            going=say_gone(machine),
            about=_about(machine, now.date()),
            hires=tuple(one for one in rentals if one.machine.pk == machine.pk),
            off=tuple(off.get(machine.pk, ())),
            ahead=tuple(ahead.get(("machine", machine.slug), ())),
        )
        for machine in Machine.objects.filter(active=True)
    )


def read_gone(table: type[Crew] | type[Machine]) -> tuple[Gone, ...]:
    """Read who is no longer with us, in one query."""
    gone: list[Crew | Machine] = list(table.objects.filter(active=False))
    return tuple(Gone(one.name, one.slug, say_gone(one)) for one in gone)


def say_gone(one: Crew | Machine) -> str:
    """Return from when a crew or units of a machine are gone; nothing if they stay."""
    if isinstance(one, Crew):
        return f"Gone from {say_date(one.gone_from)}" if one.gone_from else ""
    told = [
        f"{f'{units} of {one.count} gone' if one.count > 1 else 'gone'} from "
        f"{say_date(date.fromisoformat(since))}"
        for since, units in one.gone
    ]
    words = ", ".join(told)
    return words[:1].upper() + words[1:]


def _about(machine: Machine, today: date) -> str:
    """Return kind, count and whether it is rented; nothing that its name says already."""
    kind, units = machine_name(machine.kind), machine.units_on(today)
    words = [
        kind if kind.lower() != machine.name.lower() else "",
        f"{units} of them" if units > 1 else "",
        "rented" if machine.rented else "",
    ]
    return ", ".join(word for word in words if word)


def company_off(now: datetime) -> tuple[Off, ...]:
    """Return the company's own days off still to come."""
    rows = TimeOff.objects.filter(crew=None, member=None, machine=None, last__gte=now.date())
    return tuple(Off(row.pk, say_span(row.first, row.last), "everybody", row.why) for row in rows)


def _asked(plan: models.Plan | None, crew: Crew) -> str:
    """Saturdays that may be asked of a crew, and those the published plan asks for."""
    if not crew.saturdays:
        return ""
    days = (
        [date.fromisoformat(one["day"]) for one in plan.overtime if one["crew"] == crew.slug]
        if plan
        else []
    )
    told = ", ".join(say_day(day) for day in days)
    return f"; Saturdays if need be{f', asked for {told}' if told else ''}"


def _able(row: CrewSkill) -> str:
    if row.names:
        return ", ".join(row.names)
    return "all" if row.people is None else say_people(row.people)


def _off_by(now: datetime, *keys: str) -> dict[int, list[Off]]:
    """Days off still to come, by the crew or machine they are about."""
    found: dict[int, list[Off]] = {}
    rows = TimeOff.objects.filter(last__gte=now.date()).select_related("member")
    for row in rows:
        member = row.member
        owner = {
            "crew_id": row.crew_id,
            "machine_id": row.machine_id,
            "member__crew_id": member.crew_id if member else None,
        }
        for key in keys:
            if (pk := owner[key]) is not None:
                who = member.name if member and key == "member__crew_id" else "all of it"
                found.setdefault(pk, []).append(
                    Off(row.pk, say_span(row.first, row.last), who, row.why)
                )
    return found


def _ahead(plan: models.Plan | None, now: datetime) -> dict[tuple[str, str], list[Ahead]]:
    """Published work of the next two weeks, by crew and by machine."""
    if plan is None:
        return {}
    rows = plan.rows.filter(
        crew__isnull=False,
        finish__gt=now,
        activity__finished_at=None,
        start__lt=now + LOOK_AHEAD,
        activity__job__state__in=models.Job.OPEN,
    )
    found: dict[tuple[str, str], list[Ahead]] = {}
    for row in rows.select_related("activity__job", "crew", "lent").order_by("start"):
        for key, extra in _places(row):
            found.setdefault(key, []).append(_work(row, extra))
    return found


def _places(row: models.PlanRow) -> Iterable[tuple[tuple[str, str], str]]:
    """The crew a row keeps busy, with its machines; and each machine, with the crew."""
    names = [machine_name(kind).lower() for kind, _, _ in row.machines]
    for crew in row.crews:
        yield ("crew", crew.slug), ", ".join(names)
    for slug in row.own_machines:
        yield ("machine", slug), row.crew_names


def _work(row: models.PlanRow, extra: str) -> Ahead:
    job = row.activity.job
    when = say_span(local(row.start, job).date(), local(row.finish, job).date())
    return Ahead(when, job.name, job.slug, row.activity.uid, row.activity.name, extra)
