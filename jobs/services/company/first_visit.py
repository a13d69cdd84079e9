"""The first visit to an empty database: a company with its week, holidays, crews and machines."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction

from crews.models import Crew, Machine
from crews.services.setup import CrewFacts, save_crew, save_machine, take_off
from jobs.models import Company, Job
from jobs.services.files.load_job import load_job
from jobs.services.history import record
from jobs.services.numbers.library import load_library
from jobs.services.sky.climate import choose_place, climates
from jobs.trade.amounts import parse_length

from .holidays import holidays_of

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from datetime import date, datetime

SAMPLE = Path(__file__).resolve().parents[3] / "fixtures" / "sample" / "back-garden.toml"
SAMPLE_START = "start = 2026-01-05"
WEEK = 7


class UsualCrew(NamedTuple):
    """A crew as many companies have it; ``skills`` says how many of its people can do what."""

    key: str
    name: str
    people: int
    skills: Mapping[str, int]


class UsualMachine(NamedTuple):
    """A machine as many companies own it."""

    key: str
    name: str
    width: str = ""


CREWS = (
    UsualCrew("ground", "Ground crew", 4, {"grading": 2, "labour": 4, "irrigation": 2, "spray": 1}),
    UsualCrew(
        "stone", "Stone crew", 4,
        {"concrete": 4, "forms": 2, "stone": 3, "paving": 3, "carpentry": 2, "labour": 4},
    ),
    UsualCrew(
        "green", "Green crew", 3,
        {"planting": 3, "irrigation": 2, "lighting": 2, "labour": 3, "spray": 1},
    ),
)  # fmt: skip
"""Three crews that can do between them all that is not left to licensed trades (common practice)."""
MACHINES = (
    UsualMachine("loader-stand-on", "Stand-on loader", "36 in"),
    UsualMachine("mini-excavator", "Mini excavator", "41 in"),
    UsualMachine("plate-compactor", "Plate compactor"),
    UsualMachine("trencher", "Walk-behind trencher"),
    UsualMachine("mixer", "Mortar mixer"),
)


@dataclass(frozen=True, slots=True)
class FirstFacts:
    """What is told on the first visit; ``week`` has the day slots worked, Monday first."""

    name: str
    zone: str
    state: str
    week: tuple[int, ...]
    holidays: str
    crews: Collection[str]
    machines: Collection[str]
    sample: bool


@transaction.atomic
def set_up(facts: FirstFacts, *, by: str, now: datetime) -> Job | None:
    """Make the company and what it begins with; return the sample yard if one was asked for.

    Done a second time it changes nothing: there is one company.
    """
    _, new = Company.objects.get_or_create(
        only=True, defaults={"name": facts.name, "zone": facts.zone, "state": facts.state}
    )
    if not new:
        return None
    load_library()
    for crew in CREWS:
        if crew.key in facts.crews and not Crew.objects.filter(name=crew.name).exists():
            save_crew(None, _crew(crew, facts.week))
    for machine in MACHINES:
        if machine.key in facts.machines and not Machine.objects.filter(name=machine.name).exists():
            _machine(machine)
    for holiday in holidays_of(facts.state, facts.holidays, now.date()):
        take_off(holiday.day, holiday.day, holiday.name)
    record("company set up", by=by, at=now, after=facts.name)
    return sample_yard(by=by, now=now) if facts.sample else None


def sample_yard(*, by: str, now: datetime) -> Job:
    """Bring the sample yard in, to start on the Monday after next week's first."""
    text = SAMPLE.read_text("utf-8").replace(SAMPLE_START, f"start = {_monday(now.date())}")
    company = Company.objects.get()
    state = company.state or "NC"
    text = text.replace('state = "NC"', f'state = "{state}"')
    job = load_job(f'time_zone = "{company.zone}"\n{text}', by=by, now=now)
    choose_place(job, next(place.station for place in climates() if place.state == state))
    return job


def _monday(today: date) -> date:
    return today + timedelta(days=WEEK - today.weekday())


def _crew(crew: UsualCrew, week: tuple[int, ...]) -> CrewFacts:
    word = crew.name.split()[0]
    people = [f"{word} {number}" for number in range(1, crew.people + 1)]
    return CrewFacts(crew.name, None, people, dict(crew.skills), week)


def _machine(machine: UsualMachine) -> None:
    width = parse_length(machine.width) if machine.width else None
    save_machine(None, name=machine.name, kind=machine.key, count=1, width=width, rented=False)
