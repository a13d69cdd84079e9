"""Reads one's own pace as far as works that are done tell it, beside ours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.services.day.learning import OwnPace, own_paces, seen_of, stored
from jobs.services.numbers.library import current_library
from jobs.services.numbers.library_words import pace_unit, pace_words, plain
from jobs.services.telling.speech import say_day, spoken_days, spoken_quantity
from jobs.trade.learning import LEAST_ACTUALS, own_rate
from jobs.trade.overrides import RATE

from .frame import local

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

SHOWN = 12


class ActualRow(NamedTuple):
    """One work that was done."""

    job: str
    when: str
    quantity: str
    took: str
    ours: str
    people: str


@dataclass(frozen=True, slots=True)
class LearnedRow:
    """One pace: ours, what was seen, what follows from it; ``value`` is empty while works are too few."""

    path: str
    key: str
    name: str
    way: str
    unit: str
    ours: str
    seen: str
    value: tuple[str, ...]
    taken: bool
    told: str
    count: int
    wanted: int
    actuals: tuple[ActualRow, ...]


def read_learned(now: datetime, template: str) -> tuple[LearnedRow, ...]:
    """Read what is known of the paces of one kind of work."""
    return _rows(own_paces(now, template).values())


def read_learned_of(job: models.Job, now: datetime) -> tuple[LearnedRow, ...]:
    """Read the paces that could be taken and concern a job."""
    templates = set(job.activities.filter(retired=False).values_list("template", flat=True))
    rows = _rows(own_paces(now).values())
    return tuple(row for row in rows if row.value and not row.taken and row.key in templates)


def _rows(paces: Iterable[OwnPace]) -> tuple[LearnedRow, ...]:
    mine = dict(models.Override.objects.filter(job=None).values_list("path", "value"))
    return tuple(_row(pace, mine.get(pace.path)) for pace in sorted(paces, key=_path))


def _path(pace: OwnPace) -> str:
    return pace.path


def _row(pace: OwnPace, mine: object) -> LearnedRow:
    _, key, what = pace.path.split(" ", 2)
    template = current_library().templates[key]
    ours = next((p.rate for p in template.paces if what.endswith(f" {p.way}")), template.rate)
    seen = own_rate(ours, template.unit, pace.learned.seen)[1] if pace.learned else None
    return LearnedRow(
        path=pace.path,
        key=key,
        name=template.name,
        way="" if what == RATE else what.partition(" ")[2],
        unit=pace_unit(template),
        ours=pace_words(template, ours),
        seen=f"{plain(seen)} {pace_unit(template)}" if seen else "",
        value=tuple(map(plain, pace.value)) if pace.value else (),
        taken=pace.value is not None and mine == stored(pace.value),
        told=seen_of(pace),
        count=len(pace.actuals),
        wanted=max(0, LEAST_ACTUALS - len(pace.actuals)),
        actuals=tuple(
            ActualRow(
                one.activity.job.name,
                say_day(local(one.activity.finished_at, one.activity.job).date())
                if one.activity.finished_at
                else "",
                spoken_quantity(one.activity.quantity, one.activity.unit),
                spoken_days(one.days),
                spoken_days(one.ours),
                f"{one.people.normalize():.3g}",
            )
            for one in reversed(pace.actuals[-SHOWN:])
        ),
    )
