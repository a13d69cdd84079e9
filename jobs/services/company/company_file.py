"""Stores a company file: name, weeks, crews, machines, people, holidays. Safe to run again."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.utils.text import slugify

from crews.models import (
    Crew,
    CrewMember,
    CrewSkill,
    Machine,
    Person,
    TimeOff,
    WorkingWeek,
)
from jobs.models import Company
from jobs.trade.amounts import parse_length

if TYPE_CHECKING:
    from collections.abc import Mapping

FULL_DAY = 15
HALVES = {"full": FULL_DAY, "morning": 3, "afternoon": 12, "off": 0}
"""Day slots of a weekday, first slot lowest: two before lunch, two after."""


@transaction.atomic
def load_company(text: str) -> Company:
    """Store an invented company, its people and machines by name; what is there already is updated."""
    told = tomllib.loads(text)
    company, _ = Company.objects.update_or_create(
        only=True,
        defaults={
            "name": told["name"],
            "zone": told["time_zone"],
            "state": told.get("state", ""),
            "phone": told.get("phone", ""),
            "demo": True,
            "demo_day": told.get("demo_day"),
        },
    )
    for row in told.get("person", []):
        _person(row)
    weeks = {row["name"]: _week(row) for row in told.get("week", [])}
    for row in told.get("crew", []):
        _crew(row, weeks[row["week"]])
    for row in told.get("machine", []):
        _machine(row)
    for row in told.get("holiday", []):
        TimeOff.objects.get_or_create(
            crew=None,
            member=None,
            machine=None,
            first=row["day"],
            last=row["day"],
            defaults={"why": row["why"]},
        )
    return company


def _person(row: Mapping[str, Any]) -> None:
    Person.objects.get_or_create(
        username=row["email"],
        defaults={"email": row["email"], "name": row["name"], "role": row["role"]},
    )


def _week(row: Mapping[str, Any]) -> WorkingWeek:
    days = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    masks = {day: HALVES[row["days"].get(day, "off")] for day in days}
    week, _ = WorkingWeek.objects.update_or_create(name=row["name"], defaults=masks)
    return week


def _crew(row: Mapping[str, Any], week: WorkingWeek) -> None:
    lead = Person.objects.filter(name=row.get("lead", "")).first()
    crew, _ = Crew.objects.update_or_create(
        slug=slugify(row["name"]), defaults={"name": row["name"], "week": week, "lead": lead}
    )
    for name in row["people"]:
        CrewMember.objects.get_or_create(crew=crew, name=name)
    for skill, people in row["skills"].items():
        CrewSkill.objects.update_or_create(crew=crew, skill=skill, defaults={"people": people})


def _machine(row: Mapping[str, Any]) -> None:
    Machine.objects.update_or_create(
        slug=slugify(row["name"]),
        defaults={
            "name": row["name"],
            "kind": row["kind"],
            "count": row.get("count", 1),
            "rented": row.get("rented", False),
            "width": parse_length(row["width"]) if "width" in row else None,
        },
    )
