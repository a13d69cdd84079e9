"""Crews, machines and days off, changed by the office. What is not in use any more is kept, inactive."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils.text import slugify

from crews.models import Crew, CrewMember, CrewSkill, Machine, TimeOff, WorkingWeek
from crews.models.week import say_week

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from decimal import Decimal

    from django.db.models import QuerySet

    from crews.models import Person

HALF_DAYS = {"off": 0, "morning": 3, "afternoon": 12, "all day": 15}
"""Day slots worked, first slot lowest: two before lunch, two after."""
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
LONGEST_NAME = 60
Able = int | tuple[str, ...] | None
"""Who of a crew can do something: how many, or who by name; None is all of them."""


class ChangedMeanwhileError(Exception):
    """Somebody else changed the same row after this page was shown; nothing was overwritten."""


@dataclass(frozen=True, slots=True)
class CrewFacts:
    """A crew as the office tells it; ``week`` has the day slots worked, Monday first.

    ``saturdays`` that are free may be asked of it where a promise would be missed, at a price more.
    """

    name: str
    lead: Person | None
    people: list[str]
    skills: Mapping[str, Able]
    week: tuple[int, ...]
    saturdays: bool = False
    saturday_price: Decimal | None = None
    language: str = "en"


@transaction.atomic
def save_crew(crew: Crew | None, facts: CrewFacts, *, revision: int = 0) -> Crew:
    """Make or change a crew with its people, what they can do and when they work.

    Raises
    ------
    ChangedMeanwhileError
        If the crew is not at the revision the editor saw.
    """
    if crew is None:
        crew = Crew(slug=_free_slug(Crew.objects.all(), facts.name))
    else:
        crew = Crew.objects.select_for_update().get(pk=crew.pk)
        if crew.revision != revision:
            raise ChangedMeanwhileError
    crew.name, crew.lead, crew.week = facts.name, facts.lead, week_of(facts.week)
    crew.saturdays, crew.saturday_price = facts.saturdays, facts.saturday_price
    crew.language = facts.language
    crew.save()
    _set_people(crew, facts.people)
    _set_skills(crew, facts.skills)
    return crew


def crew_as_told(crew: Crew | None, facts: CrewFacts, revision: int) -> Crew | None:
    """Return the crew as the same form, sent before, has left it; None if there is something to keep.

    A form sent again finds its crew just as told, and edited since it was shown.
    """
    rows = Crew.objects.filter(pk=crew.pk) if crew else Crew.objects.filter(name=facts.name)
    found = rows.select_for_update(of=("self",)).first()
    if found is None or (crew is not None and found.revision == revision):
        return None
    return found if crew_stands(found, facts) else None


def crew_stands(crew: Crew, facts: CrewFacts) -> bool:
    """Return True if a crew is with us just as it is told; in which order its people are is no matter."""
    skills: dict[str, Able] = {
        row.skill: tuple(row.names) if row.names else row.people for row in crew.skills.all()
    }
    people = sorted(crew.members.values_list("name", flat=True))
    now = CrewFacts(
        crew.name, crew.lead, people, skills, crew.week.masks,
        crew.saturdays, crew.saturday_price, crew.language,
    )  # fmt: skip
    return crew.gone_from is None and now == replace(facts, people=sorted(facts.people))


def _set_people(crew: Crew, names: list[str]) -> None:
    crew.members.exclude(name__in=names).delete()
    known = set(crew.members.values_list("name", flat=True))
    CrewMember.objects.bulk_create(CrewMember(crew=crew, name=n) for n in names if n not in known)


def _set_skills(crew: Crew, skills: Mapping[str, Able]) -> None:
    crew.skills.exclude(skill__in=skills).delete()
    known = {row.skill: row for row in crew.skills.all()}
    for skill, able in skills.items():
        row = known.get(skill) or CrewSkill(crew=crew, skill=skill)
        names = list(able) if isinstance(able, tuple) else []
        people = able if isinstance(able, int) else len(names) or None
        if row.pk is None or (row.people, row.names) != (people, names):
            row.people, row.names = people, names
            row.save()


def week_of(masks: tuple[int, ...]) -> WorkingWeek:
    """Return the working week with these days, made if there is none."""
    days = dict(zip(WEEKDAYS, masks, strict=True))
    found = WorkingWeek.objects.filter(**days).first()
    if found is not None:
        return found
    return WorkingWeek.objects.create(name=_week_name(masks), **days)


def _week_name(masks: tuple[int, ...]) -> str:
    """Return a name that no other week has: its days in words, or where those are long or taken its slots."""
    words = say_week(masks)
    taken = WorkingWeek.objects.filter(name=words).exists()
    return f"slots {masks}" if taken or len(words) > LONGEST_NAME else words


@transaction.atomic
def save_machine(machine: Machine | None, *, revision: int = 0, **facts: object) -> Machine:
    """Make or change a machine: name, kind, count, width, rented.

    Raises
    ------
    ChangedMeanwhileError
        If the machine is not at the revision the editor saw.
    """
    if machine is None:
        machine = Machine(slug=_free_slug(Machine.objects.all(), str(facts["name"])))
    else:
        machine = Machine.objects.select_for_update().get(pk=machine.pk)
        if machine.revision != revision:
            raise ChangedMeanwhileError
    for key, value in facts.items():
        setattr(machine, key, value)
    machine.save()
    return machine


def machine_as_told(
    machine: Machine | None, facts: Mapping[str, object], revision: int
) -> Machine | None:
    """Return the machine as the same form, sent before, has left it; None if there is something to keep."""
    same = Machine.objects.filter(name=facts["name"])
    rows = Machine.objects.filter(pk=machine.pk) if machine else same
    found = rows.select_for_update().first()
    if found is None or (machine is not None and found.revision == revision):
        return None
    return found if machine_stands(found, facts) else None


def machine_stands(machine: Machine, facts: Mapping[str, object]) -> bool:
    """Return True if a machine is with us just as it is told."""
    told = all(getattr(machine, key) == value for key, value in facts.items())
    return machine.gone_from is None and told


def take_off(
    first: date, last: date, why: str = "", subject: Mapping[str, int] | None = None
) -> TimeOff:
    """Close some days for everybody, or for the ``crew``, ``member`` or ``machine`` of a number."""
    whose = whose_days(subject or {})
    return TimeOff.objects.create(first=first, last=last, why=why, **whose)


def taken_off(
    first: date, last: date, why: str = "", subject: Mapping[str, int] | None = None
) -> TimeOff | None:
    """Return the very same days off if they are closed already."""
    nobody = dict.fromkeys(("crew_id", "member_id", "machine_id"))
    whose = nobody | whose_days(subject or {})
    return TimeOff.objects.filter(first=first, last=last, why=why, **whose).first()


def whose_days(subject: Mapping[str, int]) -> dict[str, int]:
    """Return whose days off they are, as a row names it."""
    return {f"{kind}_id": pk for kind, pk in subject.items()}


def _free_slug(rows: QuerySet[Crew] | QuerySet[Machine], name: str) -> str:
    slug = slugify(name)[:50] or "unnamed"
    taken = set(rows.filter(slug__startswith=slug).values_list("slug", flat=True))
    n, free = 2, slug
    while free in taken:
        free, n = f"{slug}-{n}", n + 1
    return free
