"""Reads what is to be built: items with their quantities and days, and the choice of new ones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from crews.services.hours import working_hours
from jobs import clock, models
from jobs.services.company.rough import reckon
from jobs.services.numbers.library import current_library, has_newer, library_for
from jobs.services.scope.takeoff import yard_of
from jobs.services.telling.errors import say_error
from jobs.services.telling.speech import spoken_days
from jobs.services.telling.words import say
from jobs.services.telling.yardstick import Yardstick, yardstick
from jobs.trade.durations import SLOTS_A_DAY, slots_for
from jobs.trade.errors import TradeError
from jobs.trade.expand import expand_scope
from jobs.trade.quantities import flagstone_coverage, trench_spoil
from jobs.trade.scope import Item, ZoneIn
from jobs.trade.takeoff import measure_item

from .frame import JobHead, job_head, shown_plan
from .promising import promise_advice

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from jobs.services.company.rough import Reckoned
    from jobs.trade.library import Library
    from jobs.trade.takeoff import Measured

    from .promising import Advice


YEAR = timedelta(days=366)
BEGUN = (
    "Work has begun here: when it will be done, the plan says, and the odds on the Sequence page."
)
STRIP, NARROWEST = 240, 8
"""Length of the small drawing of an item, and of the shortest work in it."""
STONE, STONE_LB_FT3, STONE_IN = "set-stone", Decimal(160), Decimal("1.5")
"""Flagstone as it is sold for patios (common practice; ask the stone yard for its own coverage)."""
TRENCH, TRENCH_WIDTH_IN, TRENCH_DEPTH_IN = "trench", Decimal(6), Decimal(18)
"""A usual trench for pipe (common practice); spoil 2 ft back is 29 CFR 1926.651(j)(2)."""
PEOPLE = "ink"
"""Material of what leaves nothing behind: calls, inspections."""


class MeasuredLine(NamedTuple):
    """One activity of an item as the form shows it."""

    name: str
    quantity: str
    days: str
    people: int


class Layer(NamedTuple):
    """A piece of the small drawing of an item: where, how wide, of what material."""

    x: int
    width: int
    material: str


@dataclass(frozen=True, slots=True)
class Measures:
    """What an item unfolds into, or why it cannot."""

    lines: tuple[MeasuredLine, ...] = ()
    layers: tuple[Layer, ...] = ()
    days: str = ""
    reason: str = ""
    remedy: str = ""
    notes: tuple[str, ...] = ()


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
    reckoned = reckon(expansion, start=start, zone=job.zone, holidays=holidays)
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
        ProblemRow(p.where if p.where in items else "", p.reason, p.remedy)
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
        measure(item.assembly, item.zone, item.answers, library, stick),
        *standing,
    )


def measure(
    assembly: str,
    zone: models.Zone,
    answers: Mapping[str, str],
    library: Library,
    stick: Yardstick = Yardstick(),  # noqa: B008 (frozen)
) -> Measures:
    """Return what an item would unfold into: live, with nothing stored."""
    item = Item("form", assembly, zone.uid, answers)
    place = ZoneIn(zone.uid, zone.name, zone.area_ft2, zone.whole)
    try:
        measured = measure_item(item, place, library)
    except TradeError as error:
        return Measures(reason=error.reason, remedy=error.remedy)
    return Measures(
        tuple(_line(one, stick) for one in measured),
        _layers(measured),
        _total(measured),
        notes=tuple(_notes(measured, stick)),
    )


def _notes(measured: Iterable[Measured], stick: Yardstick) -> Iterator[str]:
    """What to order and where to put it, reckoned from the amounts of an item."""
    for one in measured:
        amount = one.quantity.amount
        if one.template.key == STONE:
            tons = amount / flagstone_coverage(STONE_LB_FT3, STONE_IN)
            yield f"Flagstone 1½ in thick, before waste: {stick.quantity(tons, 'tons')}, at 160 lb/ft³."
        elif one.template.key == TRENCH:
            spoil = stick.quantity(trench_spoil(amount, TRENCH_WIDTH_IN, TRENCH_DEPTH_IN), "yd3")
            yield f"Spoil of a trench 6 by 18 in: {spoil} in the bank, heaped at least 2 ft from the edge."


def _line(one: Measured, stick: Yardstick) -> MeasuredLine:
    kind = current_library().crews.get(one.template.crew)
    return MeasuredLine(
        one.template.name,
        stick.quantity(one.quantity.amount, one.quantity.unit),
        spoken_days(Decimal(slots_for(one.spread.typical)) / SLOTS_A_DAY),
        kind.usual if kind else one.template.least,
    )


def _layers(measured: Iterable[Measured]) -> tuple[Layer, ...]:
    """Draw the works of an item side by side, each as wide as it takes long, in whole units."""
    ours = [one for one in measured if one.template.material != PEOPLE]
    days = sum((one.spread.typical for one in ours), Decimal(0)) or Decimal(1)
    least = min(NARROWEST, STRIP // max(1, len(ours)))
    spare, x, layers = STRIP - least * len(ours), 0, []
    for one in ours:
        width = least + int(spare * one.spread.typical / days)
        layers.append(Layer(x, width, one.template.material))
        x += width
    return tuple(layers)


def _total(measured: Iterable[Measured]) -> str:
    """Add up what each work takes in the plan, so that the lines come to the sum below them."""
    outside = {key for key, crew in current_library().crews.items() if crew.outside}
    slots = [slots_for(m.spread.typical) for m in measured if m.template.crew not in outside]
    return spoken_days(Decimal(sum(slots)) / SLOTS_A_DAY) if slots else ""
