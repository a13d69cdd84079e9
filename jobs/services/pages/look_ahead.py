"""Reads the look-ahead: where every crew and machine is, day by day for three weeks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from django.db.models import Q

from crews.models import Machine
from crews.services.day_hours import read_book
from crews.services.hours import working_hours
from jobs.services.numbers.library_words import machine_name
from jobs.services.telling.speech import say_number, say_people, say_span, say_time
from jobs.services.telling.words import say
from jobs.services.world.lacking import nobody_of
from jobs.services.world.row_days import stretches
from jobs.trade.work import Sentence

from .frame import published_plan

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import time

    from crews.services.day_hours import HoursBook
    from crews.services.hours import Hours
    from jobs import models

WEEKS = 3
NOBODY = "nobody", ""
GONE = "gone"
WORKING = range(5)
"""Weekdays that are shown even if nobody works."""


class Stand(NamedTuple):
    """One work on a day, told by its name or, for a machine, by its crew.

    ``when`` is empty if it takes the crew's whole day.
    """

    uid: str
    what: str
    when: str


class Yard(NamedTuple):
    """A yard in which somebody or something is on a day."""

    job: str
    slug: str
    stands: tuple[Stand, ...]


class Cell(NamedTuple):
    """One day, or several alike in a row, of a crew or machine.

    ``note`` says that it is off, down or short of people.
    """

    days: str
    span: int
    yards: tuple[Yard, ...]
    note: str
    fold: bool


class Row(NamedTuple):
    """A crew or a machine, with its cells from the first day to the last."""

    name: str
    note: str
    cells: tuple[Cell, ...]


class Day(NamedTuple):
    """A column; ``fold`` says that closed days lie before it."""

    weekday: str
    number: str
    today: bool
    fold: bool


@dataclass(frozen=True, slots=True)
class LookAheadPage:
    """Three weeks of crews and machines, of the published plan."""

    when: str
    earlier: date
    later: date
    days: tuple[Day, ...]
    crews: tuple[Row, ...]
    machines: tuple[Row, ...]
    plan: models.Plan | None


Place = tuple[str, str]
"""Name and slug of a yard."""
Taken = dict[tuple[str, str], dict[date, list[tuple[Place, Stand]]]]


def read_look_ahead(now: datetime, monday: date | None = None) -> LookAheadPage:
    """Read three weeks from a Monday, or from this week's, in a bounded number of queries."""
    first = monday or now.date() - timedelta(days=now.weekday())
    last = first + timedelta(days=7 * WEEKS - 1)
    plan = published_plan()
    hours = working_hours(first, last, with_gone=True)
    taken = _taken(plan, first, last, now.date()) if plan else {}
    days = _shown(hours, taken, first, last)
    return LookAheadPage(
        when=say_span(first, last),
        earlier=first - timedelta(weeks=WEEKS),
        later=first + timedelta(weeks=WEEKS),
        days=tuple(_columns(days, now.date())),
        crews=(*_nobody_rows(taken, days), *_crew_rows(hours, taken, days, first)),
        machines=tuple(_machine_rows(hours, taken, days, first)),
        plan=plan,
    )


def _taken(plan: models.Plan, first: date, last: date, today: date) -> Taken:
    """What each crew and each machine does on each day; of a yard that is over, what it did."""
    found: Taken = {}
    book = read_book()
    theirs = Q(crew__isnull=False) | Q(activity__uid__in=nobody_of(plan).uids)
    rows = plan.rows.filter(
        theirs, finish__date__gte=first, start__date__lte=last + timedelta(days=1)
    )
    for row in rows.select_related("activity__job", "crew", "lent").order_by("start"):
        job = row.activity.job
        end = last if job.state in job.OPEN else min(last, today - timedelta(days=1))
        for day, when in _days_of(row, book):
            if first <= day <= end:
                for key, what in _places(row):
                    stand = Stand(row.activity.uid, what, when)
                    taken = found.setdefault(key, {}).setdefault(day, [])
                    taken.append(((job.name, job.slug), stand))
    return found


def _days_of(row: models.PlanRow, book: HoursBook) -> Iterator[tuple[date, str]]:
    """The days a work stands on, and when in the day."""
    crew = row.crew.slug if row.crew else ""
    for day, begins, ends, whole in stretches(row):
        yield day, "" if whole else _when(begins, ends, book.starts(crew, day))


def _when(begins: datetime, ends: datetime, starts: time) -> str:
    first_thing = begins.time() <= starts
    return f"to {say_time(ends)}" if first_thing else f"from {say_time(begins)}"


def _places(row: models.PlanRow) -> Iterator[tuple[tuple[str, str], str]]:
    """The crew a row keeps busy, with the work; and each machine, with the crew: what nobody does keeps none."""
    if row.crew is None:
        yield NOBODY, row.activity.name
        return
    for crew in row.crews:
        yield ("crew", crew.slug), row.activity.name
    for slug in dict.fromkeys(row.own_machines):
        yield ("machine", slug), row.crew_names


def _shown(hours: Hours, taken: Taken, first: date, last: date) -> list[date]:
    """Return the days on which a crew may work or works all the same; others are folded."""
    every = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    busy = {day for days in taken.values() for day in days}
    return [
        day
        for n, day in enumerate(every)
        if day in busy
        or day.weekday() in WORKING
        or any(crew.masks[n] for crew in hours.crews.values())
    ]


def _columns(days: Sequence[date], today: date) -> Iterator[Day]:
    for n, day in enumerate(days):
        yield Day(f"{day:%a}", say_number(day), day == today, _folded(days, n))


def _folded(days: Sequence[date], n: int) -> bool:
    return n > 0 and days[n] - days[n - 1] > timedelta(days=1)


def _nobody_rows(taken: Taken, days: Sequence[date]) -> Iterator[Row]:
    """What nobody can do, where there is such work in these weeks."""
    if NOBODY in taken:
        yield Row(say(Sentence("nobody-who")), "", tuple(_cells(taken[NOBODY], {}, days)))


def _crew_rows(hours: Hours, taken: Taken, days: Sequence[date], first: date) -> Iterator[Row]:
    """Crews that are still with us, and who is gone but planned until another plan is published."""
    for slug, crew in hours.crews.items():
        most, wanted = max(crew.people, default=0), taken.get(("crew", slug), {})
        if crew.gone == 0 and not wanted:
            continue
        notes = {}
        for day in days:
            n = (day - first).days
            if crew.gone is not None and n >= crew.gone:
                notes[day] = GONE
            elif not crew.masks[n]:
                notes[day] = "asked for" if day in wanted and crew.optional[n] else "off"
            elif crew.people[n] < most:
                notes[day] = f"{crew.people[n]} of {say_people(most)}"
        cells = _cells(wanted, notes, days)
        yield Row(crew.name, say_people(most) if most else "", tuple(cells))


def _machine_rows(hours: Hours, taken: Taken, days: Sequence[date], first: date) -> Iterator[Row]:
    """Machines that are wanted or down in these weeks, gone or not; the others stand in the yard."""
    for slug, machine in hours.machines.items():
        most, wanted = max(machine.units, default=0), taken.get(("machine", slug), {})
        short = {
            day: "down" if not units else f"{units} of {most}"
            for day in days
            if (units := machine.units[(day - first).days]) < most
        }
        if wanted or short:
            kind = machine_name(machine.kind)
            note = "" if kind.lower() == machine.name.lower() else kind.lower()
            yield Row(machine.name, note, tuple(_cells(wanted, short, days)))
    left = {slug for who, slug in taken if who == "machine"} - hours.machines.keys()
    for gone in Machine.objects.filter(slug__in=left) if left else ():
        wanted = taken["machine", gone.slug]
        yield Row(gone.name, "", tuple(_cells(wanted, dict.fromkeys(days, GONE), days)))


def _cells(
    taken: Mapping[date, list[tuple[Place, Stand]]], notes: Mapping[date, str], days: Sequence[date]
) -> Iterable[Cell]:
    """Join days in a row that are alike and full."""
    found: list[tuple[list[date], tuple[Yard, ...], str, bool]] = []
    for n, day in enumerate(days):
        yards, note = tuple(_yards(taken.get(day, ()))), notes.get(day, "")
        alike = found and found[-1][1:3] == (yards, note)
        if alike and yards and not any(stand.when for yard in yards for stand in yard.stands):
            found[-1][0].append(day)
        else:
            found.append(([day], yards, note, _folded(days, n)))
    for run, yards, note, fold in found:
        yield Cell(say_span(run[0], run[-1]), len(run), yards, note, fold)


def _yards(stands: Iterable[tuple[Place, Stand]]) -> Iterator[Yard]:
    """Tell a yard once for what follows there."""
    for (job, slug), group in groupby(stands, key=lambda pair: pair[0]):
        yield Yard(job, slug, tuple(stand for _, stand in group))
