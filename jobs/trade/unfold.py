"""Unfolds the items of a yard into measured works, what comes with every job among them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from .durations import spread_of
from .errors import ScopeError
from .formulas import Measures, loose_for_fill
from .scope import JOB_ITEM, Item, Problem
from .soil import Book, book_of, trucks
from .takeoff import Measured, assembly_of, check_answers, measure, plain
from .work import ActivityKey, Quantity, Sentence, Spread

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from .facts import Soil
    from .library import Library
    from .scope import Yard, ZoneIn
    from .templates import Template

EVERY_JOB = "every-job"
HAUL = "haul-soil"
BERM = "build-berm"
DIG = "dig-out"
FILLED = frozenset({BERM, "rough-grade"})
"""Works that soil is brought in for; an item has one of them at most."""
HAULED_IN = 1
"""Ordinal of the haul that brings soil in; the one that takes it away is the first."""
AS_NEEDED = "as needed"
THIS_YARD = "this yard"
LIFTED_TURF = frozenset({"strip-sod", "strip-by-loader"})
"""Where turf is lifted there are usually old pipes and wires under it."""
TENTH = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class Task:
    """One measured work of one item, before anybody asks how it gets there."""

    key: ActivityKey
    template: Template
    quantity: Quantity
    spread: Spread
    item: Item
    zone: ZoneIn
    words: Mapping[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class Unfolded:
    """Works of all items, problems with their answers, and what was assumed."""

    works: list[Task] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    told: list[Sentence] = field(default_factory=list)
    book: Book = field(default_factory=lambda: Book(Decimal(0), Decimal(0)))


def number_told(template: Template, ordinal: int) -> str:
    """Return `` (2)`` for a work that comes again in its item; soil is hauled in and out, which are two works."""
    return f" ({ordinal + 1})" if ordinal and template.key != HAUL else ""


def unfold(yard: Yard, library: Library) -> Unfolded:
    """Return every work of a yard, measured; items whose answers cannot be taken are told apart."""
    out = Unfolded()
    soil = library.soils.get(yard.soil)
    if soil is None:
        out.told.append(Sentence("takeoff-soil-unknown", {"soil": yard.soil}))
    wanted: dict[str, Decimal] = {}
    dug = Decimal(0)
    for item in yard.items:
        measures = _measures(item, yard, library, soil, out)
        if measures is not None:
            works = _works(item, yard, library, measures)
            out.works += works
            dug += _dug(works, measures)
            wanted[item.uid] = _wanted(works, measures)
    out.book = book_of(dug, sum(wanted.values(), Decimal(0)), soil)
    _bring(out, yard, library, wanted)
    _tell_soil(out)
    if EVERY_JOB in library.assemblies:
        _every_job(out, yard, library)
    return out


def _measures(
    item: Item, yard: Yard, library: Library, soil: Soil | None, out: Unfolded
) -> Measures | None:
    try:
        checked = check_answers(assembly_of(item, library), item.answers, yard.zone(item.zone))
    except ScopeError as error:
        out.problems.append(Problem(item.uid, "assembly", error.reason, error.remedy))
        return None
    out.problems += [
        Problem(item.uid, key, fault.reason, fault.remedy) for key, fault in checked.faults.items()
    ]
    return None if checked.faults else Measures(checked.amounts, checked.words, soil)


def _works(item: Item, yard: Yard, library: Library, measures: Measures) -> list[Task]:
    zone = yard.zone(item.zone)
    found = measure(library.assemblies[item.assembly], measures, library)
    return [_task(one, item, zone, measures.words) for one in found]


def _task(one: Measured, item: Item, zone: ZoneIn, words: Mapping[str, str]) -> Task:
    key = ActivityKey(item.uid, one.template.key, zone.uid, one.ordinal)
    return Task(key, one.template, one.quantity, one.spread, item, zone, words)


# -- soil ------------------------------------------------------------------------------


def _dug(works: Iterable[Task], measures: Measures) -> Decimal:
    """Bank yards an item digs: its pits and its cut."""
    pits = [work.quantity.amount for work in works if work.key.template == DIG]
    return sum(pits, measures["cut"])


def _wanted(works: Iterable[Task], measures: Measures) -> Decimal:
    """Compacted yards an item wants of the yard's own soil."""
    if measures.words.get("soil", THIS_YARD) != THIS_YARD:
        return Decimal(0)
    mounds = [work.quantity.amount for work in works if work.key.template == BERM]
    return sum(mounds, measures["fill"])


def _bring(out: Unfolded, yard: Yard, library: Library, wanted: Mapping[str, Decimal]) -> None:
    """Soil the yard lacks is hauled in by the items that want it, each its share."""
    for work in [work for work in out.works if work.key.template in FILLED]:
        share = wanted[work.item.uid]
        if share:
            loose = out.book.bought * share / out.book.wanted
        elif work.key.template == BERM:
            soil = library.soils.get(yard.soil)
            loose = loose_for_fill(work.quantity.amount, Measures({}, {}, soil))
        else:
            continue
        if loose >= TENTH:
            out.works.append(_haul_in(work, loose, library))


def _haul_in(work: Task, loose: Decimal, library: Library) -> Task:
    """Soil brought in is a haul of its own: the second of the item, whether it hauls out or not."""
    template = library.templates[HAUL]
    quantity = Quantity(loose.quantize(TENTH), template.unit)
    key = ActivityKey(work.item.uid, HAUL, work.zone.uid, HAULED_IN)
    spread = spread_of(quantity, template.rate)
    return replace(work, key=key, template=template, quantity=quantity, spread=spread)


def _tell_soil(out: Unfolded) -> None:
    book = out.book
    if book.dug and book.wanted:
        values: dict[str, str | int] = {
            "dug": plain(book.dug.quantize(TENTH)),
            "used": plain(book.used.quantize(TENTH)),
            "away": plain(book.away.quantize(TENTH)),
            "trucks": trucks(book.away),
        }
        out.told.append(Sentence("takeoff-spoil", values))
    if book.bought:
        loose = plain(book.bought.quantize(TENTH))
        out.told.append(Sentence("takeoff-bought", {"loose": loose, "trucks": trucks(book.bought)}))


# -- what comes with every job ---------------------------------------------------------


def _every_job(out: Unfolded, yard: Yard, library: Library) -> None:
    assembly = library.assemblies[EVERY_JOB]
    asks = {ask.key for ask in assembly.asks}
    answers = {key: value for key, value in yard.options.items() if key in asks}
    area = yard.whole.area or sum((zone.area or Decimal(0) for zone in yard.zones), Decimal(0))
    if area and "area" not in answers:
        answers["area"] = str(area)
    checked = check_answers(assembly, answers, yard.whole)
    out.problems += [
        Problem("yard", key, fault.reason, fault.remedy) for key, fault in checked.faults.items()
    ]
    if checked.faults:
        return
    needs = _needs({work.template.key: work.template for work in out.works}, library)
    words = {key: _settled(key, word, needs) for key, word in checked.words.items()}
    item = Item(JOB_ITEM, EVERY_JOB, yard.whole.uid, answers)
    found = measure(assembly, Measures(checked.amounts, words), library)
    out.works += [_task(one, item, yard.whole, words) for one in found]


def _settled(key: str, word: str, needs: Mapping[str, bool]) -> str:
    if word != AS_NEEDED:
        return word
    return "yes" if needs.get(key) else "no"


def _needs(templates: Mapping[str, Template], library: Library) -> dict[str, bool]:
    """What a yard needs besides, by what is built in it and what the rules tie to that."""

    def follows(first: str) -> bool:
        return any(first in r.before and templates.keys() & set(r.after) for r in library.rules)

    def leads_to(last: str) -> bool:
        return any(last in r.after and templates.keys() & set(r.before) for r in library.rules)

    return {
        "locate": any(template.digs for template in templates.values()),
        "private": follows("private-locate"),
        "old-lines": bool(templates.keys() & LIFTED_TURF),
        "orders": follows("order-long-lead"),
        "watered": leads_to("controller-handover"),
        "hauled": leads_to("restore-way-in"),
    }
