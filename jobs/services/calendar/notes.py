"""What is read under an event's title: where, who with, with what, and what to mind. Never a code."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from crews.models import Machine
from crews.services.redact import without_codes
from jobs import clock
from jobs.services.numbers.library_words import caution_text
from jobs.services.telling.words import say
from jobs.services.telling.yardstick import Yardstick, yardstick
from jobs.services.world.lacking import nobody_of
from jobs.services.world.row_days import stretches
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from datetime import date

    from crews.services.drafts import Run
    from jobs import models

JobDay = tuple[int, "date"]
INSTANT = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Around:
    """What a plan says beside one row: who is in which yard on which day, machines by name."""

    crews: Mapping[JobDay, Sequence[str]]
    machines: Mapping[str, str]
    stick: Yardstick = field(default_factory=Yardstick)
    waits: Mapping[str, str] = field(default_factory=dict)
    """By uid of each work that hangs on one nobody is there for, the name of that one."""

    def others(self, row: models.PlanRow, run: Run) -> list[str]:
        """Names of the other crews in this yard on any day of a run, in order of name."""
        zone, own = ZoneInfo(row.activity.job.zone), {crew.name for crew in row.crews}
        days = _days_between(run.start.astimezone(zone), run.end.astimezone(zone))
        there = {name for day in days for name in self.crews.get((row.activity.job_id, day), ())}
        return sorted(there - own)


def look_around(plan: models.Plan, rows: Iterable[models.PlanRow]) -> Around:
    """Gather from all rows of a plan what their neighbours are told; two queries, for machines and units."""
    crews: dict[JobDay, list[str]] = defaultdict(list)
    for row in rows:
        for crew in row.crews:
            for day in _days_of(row):
                crews[row.activity.job_id, day].append(crew.name)
    names = dict(Machine.objects.values_list("slug", "name"))
    return Around(crews, names, yardstick(), nobody_of(plan).follow)


def crew_runs(
    row: models.PlanRow,
    runs: Iterable[Run],
    around: Around,
    due: Mapping[date, Sequence[str]],
    language: str = "en",
) -> tuple[Run, ...]:
    """Return the runs of a row, each with what its crew reads on its days; cautions come last.

    Parameters
    ----------
    due
        Names of what is delivered to the yard, by local day.
    language
        What the crew reads.
    """
    zone, tell = ZoneInfo(row.activity.job.zone), partial(told, language)
    machines = [around.machines.get(slug, slug) for slug in row.own_machines]
    with_what = [tell("machine", names="; ".join(sorted(machines)))] if machines else []
    noted = []
    for run in runs:
        others = around.others(row, run)
        today = [tell("others", names=", ".join(others))] if others else []
        begins = run.start.astimezone(zone)
        with clock.telling_on(begins.date()):
            for day in _days_between(begins, run.end.astimezone(zone)):
                today += [
                    tell("delivery", day=day.isoformat(), name=one) for one in due.get(day, ())
                ]
        lines = [
            _what(row, around.stick, language),
            _who(row, language),
            *_waits(row, around, tell),
            *with_what,
            *today,
            *way_in(row, language),
            *_cautions(row, language),
        ]
        noted.append(replace(run, notes="\n".join(line for line in lines if line)))
    return tuple(noted)


def _waits(row: models.PlanRow, around: Around, tell: Callable[..., str]) -> list[str]:
    """Say that a work hangs on another one that nobody is there for."""
    work = around.waits.get(row.activity.uid)
    return [tell("nobody", work=work)] if work else []


def machine_notes(row: models.PlanRow, around: Around) -> str:
    """Return what is read in a machine's calendar: who runs it, on what, and how it gets in."""
    crew = row.crew
    if crew is None:
        return ""
    lead = f", led by {crew.lead}" if crew.lead is not None else ""
    lines = [
        f"Operator: {crew.name}{lead}",
        _what(row, around.stick),
        *way_in(row),
        *_cautions(row),
    ]
    return "\n".join(line for line in lines if line)


def _what(row: models.PlanRow, stick: Yardstick, language: str = "en") -> str:
    activity = row.activity
    much = stick.quantity(activity.quantity, activity.unit, language)
    if activity.zone is None:
        return much
    place = told(language, "whole-yard") if activity.zone.whole else activity.zone.name
    return f"{place}: {much}" if much else place


def _who(row: models.PlanRow, language: str) -> str:
    if row.crew is None:
        return ""
    if not row.people:
        return row.crew_names
    if row.people == 1:
        return told(language, "person", crews=row.crew_names)
    return told(language, "people", crews=row.crew_names, people=row.people)


def way_in(row: models.PlanRow, language: str = "en") -> list[str]:
    """The notes on the way in; a code never stands in a calendar."""
    notes = without_codes(row.activity.job.access_notes)
    return [told(language, "way-in", notes=notes)] if notes else []


def _cautions(row: models.PlanRow, language: str = "en") -> list[str]:
    cautions = [caution_text(key, language) for key in row.activity.detail.get("cautions", [])]
    care = told(language, "care")
    return [care, *(f"- {text}" for text in cautions)] if cautions else []


def told(language: str, key: str, **values: str | int) -> str:
    """Say a note of a calendar."""
    return say(Sentence(f"note-{key}", values), language)


def _days_of(row: models.PlanRow) -> set[date]:
    """Local days a row is worked on."""
    return {stretch.day for stretch in stretches(row)}


def _days_between(start: datetime, end: datetime) -> Iterator[date]:
    """Days from an instant to another that is not included."""
    day, last = start.date(), (end - INSTANT).date()
    while day <= last:
        yield day
        day += timedelta(days=1)
