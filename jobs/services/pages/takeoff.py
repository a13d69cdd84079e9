"""Reads what is to be built: items with their quantities and days, and the choice of new ones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from crews.services.hours import working_hours
from jobs import clock, models
from jobs.services.company.rough import reckon
from jobs.services.numbers.library import has_newer, library_for
from jobs.services.scope.takeoff import yard_of
from jobs.services.sky.usual_year import usual_year_of
from jobs.services.telling.errors import say_error, say_problem
from jobs.services.telling.words import say
from jobs.services.telling.yardstick import Yardstick, yardstick
from jobs.trade.errors import TradeError
from jobs.trade.expand import expand_scope

from .frame import JobHead, job_head, shown_plan
from .measures import Measures, measure
from .promising import promise_advice

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.services.company.rough import Reckoned
    from jobs.trade.library import Library

    from .promising import Advice


YEAR = timedelta(days=366)
BEGUN = (
    "Work has begun here: when it will be done, the plan says, and the odds on the Sequence page."
)


@dataclass(frozen=True, slots=True)
class ItemRow:
    """One item of the takeoff."""

    uid: str
    name: str
    zone: str
    answers: str
    measures: Measures
    standing: str
    order: int


class ZoneRow(NamedTuple):
    """A zone and its area."""

    name: str
    area: str


class PassageRow(NamedTuple):
    """A way in and how wide it is."""

    name: str
    leads: str
    width: str


class ProblemRow(NamedTuple):
    """Something that stands in the way of building, and the way out."""

    uid: str
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True)
class FirstFinish:
    """When a yard could be done on its own, or why nobody knows."""

    slug: str
    reckoned: Reckoned | None
    advice: Advice
    reason: str = ""


@dataclass(frozen=True, slots=True)
class TakeoffPage:
    """A job's takeoff."""

    head: JobHead
    starts: object
    places: tuple[tuple[str, tuple[ItemRow, ...]], ...]
    zones: tuple[ZoneRow, ...]
    passages: tuple[PassageRow, ...]
    activities: int
    newer: bool
    begun: bool
    problems: tuple[ProblemRow, ...]
    assumptions: tuple[str, ...]
    groups: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]


def read_takeoff(job: models.Job) -> TakeoffPage:
    """Read the takeoff of a job in a bounded number of queries."""
    items = list(job.items.select_related("zone"))
    zones = list(job.zones.all())
    library = library_for(job)
    passages = job.passages.select_related("start", "end")
    problems, assumptions = _told(job, library)
    stick = yardstick()
    return TakeoffPage(
        head=job_head(job, "job", shown_plan()),
        starts=job.starts_on,
        places=_by_zone(items, library, _standing(job), stick),
        zones=tuple(
            ZoneRow(z.name, stick.quantity(z.area_ft2, "ft2") if z.area_ft2 else "")
            for z in zones
            if not z.whole
        ),
        passages=tuple(
            PassageRow(
                p.name,
                f"{p.start or 'street'} to {str(p.end).lower()}",
                stick.length(p.width) if p.width else "not measured",
            )
            for p in passages
        ),
        activities=job.activities.filter(retired=False).count(),
        newer=has_newer(job),
        begun=_begun(job),
        problems=problems,
        assumptions=assumptions,
        groups=offered(library),
    )


def _begun(job: models.Job) -> bool:
    return job.activities.filter(started_at__isnull=False).exists()


def read_first_finish(job: models.Job) -> FirstFinish:
    """Reckon when a yard could be done on its own, from its start or today."""
    start, advice = max(job.starts_on, clock.now().date()), promise_advice(job, shown_plan())
    if _begun(job):
        return FirstFinish(job.slug, None, advice, BEGUN)
    holidays = working_hours(start, start + YEAR).holidays
    try:
        expansion = expand_scope(yard=yard_of(job), library=library_for(job))
    except TradeError as error:
        return FirstFinish(job.slug, None, advice, say_error(error))
    year = usual_year_of(job)
    reckoned = reckon(expansion, start=start, zone=job.zone, year=year, holidays=holidays)
    return FirstFinish(job.slug, reckoned, advice)


def _told(job: models.Job, library: Library) -> tuple[tuple[ProblemRow, ...], tuple[str, ...]]:
    """Return what stands in the way of building a yard, and what was assumed."""
    yard = yard_of(job)
    try:
        expansion = expand_scope(yard=yard, library=library)
    except TradeError as error:
        return (ProblemRow("", error.reason, error.remedy),), ()
    items = {item.uid for item in yard.items}
    problems = tuple(
        ProblemRow(p.where if p.where in items else "", say_problem(p), p.remedy)
        for p in expansion.problems
    )
    return problems, tuple(say(sentence) for sentence in expansion.assumptions)


def offered(library: Library) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Return the assemblies one may pick, by group, in the library's order."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for assembly in library.assemblies.values():
        if assembly.group != "always":
            groups.setdefault(assembly.group, []).append((assembly.key, assembly.name))
    return tuple((group.capitalize(), tuple(rows)) for group, rows in groups.items())


def _standing(job: models.Job) -> dict[int, tuple[str, int]]:
    """Return, of items that a change order speaks of, how they stand and in which order."""
    added = models.ChangeLine.Does.ITEM
    words = {
        ("asked", True): "built once change order {} is signed",
        ("signed", True): "by change order {}",
        ("declined", True): "not built: change order {} was declined",
        ("asked", False): "left out once change order {} is signed",
        ("signed", False): "left out by change order {}",
    }
    lines = models.ChangeLine.objects.filter(order__job=job, item__isnull=False)
    found = {}
    for line in lines.select_related("order").order_by("order__number"):
        told = words.get((line.order.state, line.does == added))
        if told and line.item_id is not None:
            found[line.item_id] = (told.format(line.order.number), line.order.number)
    return found


def _by_zone(
    items: Iterable[models.ScopeItem],
    library: Library,
    standing: Mapping[int, tuple[str, int]],
    stick: Yardstick,
) -> tuple[tuple[str, tuple[ItemRow, ...]], ...]:
    """Items under the zone they are in, zones in the order of the yard."""
    ordered = sorted(items, key=lambda item: (item.zone.order, item.order, item.pk))
    return tuple(
        (zone, tuple(_row(item, library, standing.get(item.pk, ("", 0)), stick) for item in found))
        for zone, found in groupby(ordered, key=lambda item: item.zone.name)
    )


def _row(
    item: models.ScopeItem, library: Library, standing: tuple[str, int], stick: Yardstick
) -> ItemRow:
    assembly = library.assemblies.get(item.assembly)
    name = item.name or (assembly.name if assembly else item.assembly)
    asks = {ask.key: ask for ask in assembly.asks} if assembly else {}
    answers = "; ".join(
        f"{asks[key].name.lower()}: {stick.answer(str(value), asks[key].unit)}"
        if key in asks
        else f"{key}: {value}"
        for key, value in item.answers.items()
    )
    return ItemRow(
        item.uid,
        name,
        item.zone.name,
        answers,
        measure(item.assembly, item.zone, item.answers, library, stick, item.job.soil),
        *standing,
    )
