"""Crews, machines and who is there, changed with a line in the record each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db import transaction

from crews.models import Crew, CrewMember, Loan, Machine, TimeOff
from crews.models.week import say_week
from crews.services.setup import (
    crew_as_told,
    machine_as_told,
    save_crew,
    save_machine,
    take_off,
    taken_off,
)
from jobs import models
from jobs.services.calendar.publish import call_again, retell
from jobs.services.causes.late import out, take_back_change
from jobs.services.causes.put import TIME_OFF
from jobs.services.history import record
from jobs.services.sky.outlook import note_hands
from jobs.services.telling.speech import say_skill, say_span
from jobs.services.turns import take_turn

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from crews.services.setup import CrewFacts
    from jobs.services.history import Who


@transaction.atomic
def keep_crew(crew: Crew | None, facts: CrewFacts, who: Who, *, revision: int = 0) -> Crew:
    """Make or change a crew, once though sent twice; its calendar speaks another language, and all use its name, at once.

    Raises
    ------
    ChangedMeanwhileError
        If the crew is not at the revision the editor saw.
    """
    take_turn()
    if (same := crew_as_told(crew, facts, revision)) is not None:
        return same
    before = told_crew(crew) if crew else None
    spoke = crew.language if crew else facts.language
    saved = save_crew(crew, facts, revision=revision)
    if saved.language != spoke:
        retell(saved, now=who.now)
    if crew is not None:
        call_again(now=who.now)
    _record("crew changed" if crew else "crew made", who, before, told_crew(saved))
    note_hands(who.now)
    return saved


@transaction.atomic
def keep_machine(
    machine: Machine | None, facts: Mapping[str, Any], who: Who, *, revision: int = 0
) -> Machine:
    """Make or change a machine, once though sent twice; calendars use its name at once.

    Raises
    ------
    ChangedMeanwhileError
        If the machine is not at the revision the editor saw.
    """
    take_turn()
    if (same := machine_as_told(machine, facts, revision)) is not None:
        return same
    before = told_machine(machine) if machine else None
    saved = save_machine(machine, revision=revision, **facts)
    if machine is not None:
        call_again(now=who.now)
    _record("machine changed" if machine else "machine made", who, before, told_machine(saved))
    return saved


@transaction.atomic
def close_days(first: date, last: date, why: str, subject: Mapping[str, int], who: Who) -> TimeOff:
    """Close some days for everybody, or for the crew, member or machine of a number; once, though sent twice."""
    take_turn()
    if (same := taken_off(first, last, why, subject)) is not None:
        return same
    row = take_off(first, last, why, subject)
    _record("days closed", who, None, told_off(row))
    return row


@transaction.atomic
def open_days(row: TimeOff, who: Who) -> None:
    """Open days again that were closed."""
    _record("days opened again", who, told_off(row), None)
    row.delete()


@transaction.atomic
def away_today(member: CrewMember, today: date, why: str, who: Who) -> bool:
    """Say that somebody is away today; said twice it counts once, and False is returned."""
    member = CrewMember.objects.select_for_update().get(pk=member.pk)
    if _off_today(member, today) is not None:
        return False
    out(member, today, today, why=why, by=who.by, now=who.now)
    return True


@transaction.atomic
def back_today(member: CrewMember, today: date, who: Who) -> bool:
    """Say that somebody is back; False if he was never away."""
    row = _off_today(member, today)
    if row is None:
        return False
    said = models.Change.objects.filter(plan=None, table=TIME_OFF, row=row.pk).first()
    if row.first == today and said is not None:
        take_back_change(said, by=who.by, now=who.now)
        return True
    before = told_off(row)
    if row.first == today:
        row.delete()
        _record("back again", who, before, None)
        return True
    row.last = today.fromordinal(today.toordinal() - 1)
    row.save()
    _record("back again", who, before, told_off(row))
    return True


@transaction.atomic
def lend(member: CrewMember, crew: Crew, first: date, last: date, who: Who) -> Loan:
    """Let somebody work with another crew for some days."""
    loan = Loan.objects.create(member=member, crew=crew, first=first, last=last)
    _record("lent to another crew", who, None, told_loan(loan))
    return loan


@transaction.atomic
def end_loan(loan: Loan, today: date, who: Who) -> None:
    """Let somebody work with his own crew again: from today, or as if never lent."""
    before = told_loan(loan)
    if loan.first >= today:
        loan.delete()
        _record("lent no more", who, before, None)
        return
    loan.last = today.fromordinal(today.toordinal() - 1)
    loan.save()
    _record("lent no more", who, before, told_loan(loan))


def told_crew(crew: Crew) -> dict[str, str]:
    """Return a crew as the record keeps it."""
    skills = [f"{say_skill(row.skill)} {_able(row.people, row.names)}" for row in crew.skills.all()]
    people = [member.name for member in crew.members.all()]
    return {
        "crew": crew.name,
        "lead": str(crew.lead or "nobody"),
        "people": ", ".join(people),
        "can do": ", ".join(skills),
        "week": say_week(crew.week.masks),
        "Saturdays": "where a promise would be missed" if crew.saturdays else "",
        "a Saturday costs": str(crew.saturday_price or ""),
        "reads": crew.get_language_display(),
    }


def told_machine(machine: Machine) -> dict[str, str]:
    """Return a machine as the record keeps it."""
    return {
        "machine": machine.name,
        "kind": machine.kind,
        "count": str(machine.count),
        "rented": "yes" if machine.rented else "no",
        "rent a day": str(machine.day_price or ""),
        "least days": str(machine.least_days) if machine.rented else "",
        "order ahead": str(machine.lead_days) if machine.rented else "",
    }


def told_off(row: TimeOff) -> dict[str, str]:
    """Return closed days as the record keeps them."""
    whom = row.crew or row.member or row.machine or "everybody"
    return {"days": say_span(row.first, row.last), "whom": str(whom), "why": row.why}


def told_loan(loan: Loan) -> dict[str, str]:
    """Return a loan as the record keeps it."""
    return {"days": say_span(loan.first, loan.last), "who": str(loan)}


def _able(people: int | None, names: list[str]) -> str:
    return ", ".join(names) if names else "all" if people is None else str(people)


def _off_today(member: CrewMember, today: date) -> TimeOff | None:
    return TimeOff.objects.filter(member=member, first__lte=today, last__gte=today).first()


def _record(what: str, who: Who, before: object, after: object) -> None:
    record(what, by=who.by, at=who.now, before=before, after=after)
