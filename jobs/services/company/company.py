"""The company as its owner changes it: name, place, hours of the day, holidays; each with its record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from crews.models import Crew, DayHours, TimeOff
from crews.services.setup import WEEKDAYS, ChangedMeanwhileError, take_off
from jobs import models
from jobs.services.history import record
from jobs.services.telling.words import MONTHS
from jobs.services.turns import take_turn

from .holidays import holidays_of

if TYPE_CHECKING:
    from datetime import date, time

    from jobs.services.history import Who


KEPT = ("name", "state", "zone", "phone", "units", "finding_days")
"""Columns of the company's own row."""


@dataclass(frozen=True, slots=True)
class CompanyFacts:
    """What is told of the company; the day's beginning and lunch (minutes) are those of most days.

    ``finding_days`` are the working days that finding somebody to hire takes.
    """

    name: str
    state: str
    zone: str
    phone: str
    units: str
    starts: time
    lunch: int
    finding_days: int


@dataclass(frozen=True, slots=True)
class HoursFacts:
    """A season or a crew's own hours; days of the year as (month, day), both or none.

    Raises
    ------
    ValueError
        If a season has one day only.
    """

    crew: Crew | None
    first: tuple[int, int] | None
    last: tuple[int, int] | None
    weekdays: int
    starts: time
    lunch: int

    def __post_init__(self) -> None:
        if (self.first is None) is not (self.last is None):
            raise ValueError("a season has a first and a last day")


@transaction.atomic
def keep_company(facts: CompanyFacts, who: Who, *, revision: int) -> models.Company:
    """Change the company and the hours of most days; once, though sent twice.

    Raises
    ------
    ChangedMeanwhileError
        If it is not at the revision the editor saw.
    """
    company = models.Company.objects.select_for_update().get()
    usual = usual_hours() or DayHours()
    if company.revision != revision:
        kept = {name: getattr(company, name) for name in KEPT}
        if CompanyFacts(**kept, starts=usual.starts, lunch=usual.lunch) == facts:
            return company
        raise ChangedMeanwhileError
    before = told(company)
    for name in KEPT:
        setattr(company, name, getattr(facts, name))
    company.save()
    if (usual.starts, usual.lunch) != (facts.starts, facts.lunch):
        usual.starts, usual.lunch = facts.starts, facts.lunch
        usual.save()
    record("company changed", by=who.by, at=who.now, before=before, after=told(company))
    return company


def usual_hours() -> DayHours | None:
    """Return the row of everybody's day all the year, if hours were ever told."""
    rows = DayHours.objects.filter(crew=None, first_month=None)
    return rows.order_by("pk").first()


@transaction.atomic
def add_hours(facts: HoursFacts, who: Who) -> DayHours:
    """Keep a season, or the hours of one crew; once, though sent twice."""
    take_turn()
    first, last = facts.first or (None, None), facts.last or (None, None)
    told = {
        "crew": facts.crew, "weekdays": facts.weekdays, "starts": facts.starts, "lunch": facts.lunch,
        "first_month": first[0], "first_day": first[1], "last_month": last[0], "last_day": last[1],
    }  # fmt: skip
    if (same := DayHours.objects.filter(**told).first()) is not None:
        return same
    row = DayHours.objects.create(**told)
    record("hours told", by=who.by, at=who.now, after=say_hours(row))
    return row


@transaction.atomic
def remove_hours(row: DayHours, who: Who) -> None:
    """Let the wider hours hold again."""
    record("hours taken out", by=who.by, at=who.now, before=say_hours(row))
    row.delete()


@transaction.atomic
def fill_holidays(choice: str, today: date, who: Who) -> int:
    """Close the holidays to come of the company's state that are not closed yet; return how many."""
    state = models.Company.objects.get().state
    closed = set(
        TimeOff.objects.filter(crew=None, member=None, machine=None).values_list("first", flat=True)
    )
    new = [one for one in holidays_of(state, choice, today) if one.day not in closed]
    for holiday in new:
        take_off(holiday.day, holiday.day, holiday.name)
    if new:
        names = [f"{one.day.isoformat()} {one.name}" for one in new]
        record("holidays closed", by=who.by, at=who.now, after=names)
    return len(new)


def say_hours(row: DayHours) -> str:
    """Return a row of hours in words: whose, when, from what time."""
    whose = f"the {row.crew}" if row.crew else "everybody"
    lunch = "" if row.crew else f", lunch {row.lunch} minutes"
    return f"{whose}, {say_season(row)}: from {row.starts:%H:%M}{lunch}"


def say_season(row: DayHours) -> str:
    """Return when a row holds: ``1 Jun - 31 Aug, Mon Tue``, ``all the year``."""
    if row.first_month is None:
        season = "all the year"
    else:
        season = f"{_day(row.first_month, row.first_day)} – {_day(row.last_month, row.last_day)}"
    names = [day[:3].capitalize() for n, day in enumerate(WEEKDAYS) if row.weekdays >> n & 1]
    return season if len(names) == len(WEEKDAYS) else f"{season}, {' '.join(names)}"


def _day(month: int | None, day: int | None) -> str:
    names = MONTHS["en"]
    return f"{day} {names[(month or 1) - 1]}"


def told(company: models.Company) -> dict[str, str]:
    """Return the company as the record keeps it."""
    names = ("name", "state", "zone", "phone", "units")
    usual = usual_hours() or DayHours()
    hours = {"day begins": f"{usual.starts:%H:%M}", "lunch": f"{usual.lunch} minutes"}
    finding = {"finding somebody": f"{company.finding_days} working days"}
    return {name: str(getattr(company, name)) for name in names} | hours | finding
