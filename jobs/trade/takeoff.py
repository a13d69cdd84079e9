"""From the answers of a scope item to measured activities: how much of each, and how many days.

Pure and quick: a form calls ``measure_item`` on every keystroke, the expansion on every item.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, NamedTuple

from .amounts import parse_quantity
from .concrete import POUR, POURED, WITH_EACH_POUR, pours
from .durations import spread_of
from .errors import ScopeError, TradeError
from .formulas import FORMULAS, Measures
from .work import Quantity, Spread

if TYPE_CHECKING:
    from collections.abc import Mapping

    from .assemblies import Ask, Assembly, Part
    from .facts import Soil
    from .library import Library
    from .scope import Item, ZoneIn
    from .templates import Template

__all__ = ["FORMULAS", "Checked", "Fault", "Measured", "check_answers", "measure_item"]

AREA = "area"
"""The ask that the zone's own area answers where nothing was typed."""
THOUSANDTH = Decimal("0.001")


class Fault(NamedTuple):
    """Why an answer cannot be taken, and what to give instead."""

    reason: str
    remedy: str


class Checked(NamedTuple):
    """Answers as read, in the unit of each ask, and what is wrong with the others, by ask."""

    amounts: Mapping[str, Decimal]
    words: Mapping[str, str]
    faults: Mapping[str, Fault]


class Measured(NamedTuple):
    """One activity of an item: its template, how much, how many crew days, and which of several."""

    template: Template
    quantity: Quantity
    spread: Spread
    ordinal: int = 0


def check_answers(
    assembly: Assembly, answers: Mapping[str, str], zone: ZoneIn | None = None
) -> Checked:
    """Read the answers of an assembly, defaults filled in.

    Parameters
    ----------
    answers
        By ask, as typed: ``420 ft2``, ``4``, ``chute``. An empty text is no answer.
    zone
        Whose area stands in for an unanswered area.

    Returns
    -------
    Checked
        Every fault at once, by ask: missing, unknown, no amount, no such unit, nothing, absurd.
    """
    amounts: dict[str, Decimal] = {}
    words: dict[str, str] = {}
    faults = _unknown(assembly, answers)
    for ask in assembly.asks:
        told = str(answers.get(ask.key, "")).strip() or _default(ask, zone)
        try:
            if ask.choices:
                words[ask.key] = _word(ask, told)
            elif told or ask.required:
                amounts[ask.key] = _amount(ask, told)
        except TradeError as error:
            faults[ask.key] = Fault(error.reason, error.remedy)
    return Checked(amounts, words, faults)


def measure_item(
    item: Item, zone: ZoneIn, library: Library, soil: Soil | None
) -> tuple[Measured, ...]:
    """Return what an item unfolds into: quantities and days at the usual crew's pace.

    Raises
    ------
    ScopeError
        If the assembly is unknown or an answer cannot be taken; ``where`` names the ask.
    """
    assembly = assembly_of(item, library)
    checked = check_answers(assembly, item.answers, zone)
    for key, fault in checked.faults.items():
        raise ScopeError(fault.reason, remedy=fault.remedy, where=key)
    return measure(assembly, Measures(checked.amounts, checked.words, soil), library)


def measure(assembly: Assembly, measures: Measures, library: Library) -> tuple[Measured, ...]:
    """Return the measured activities of checked answers, ordinals counted up per template."""
    seen: Counter[str] = Counter()
    found: list[Measured] = []
    for part in assembly.parts:
        if not applies(part, measures.words):
            continue
        template = library.templates[part.template]
        amount = FORMULAS[part.quantity](measures)
        if amount > 0:
            found.append(_measured(template, amount, seen[template.key]))
            seen[template.key] += 1
    return _in_pours(found)


def assembly_of(item: Item, library: Library) -> Assembly:
    """Return the assembly of an item.

    Raises
    ------
    ScopeError
        If the library does not know it.
    """
    if item.assembly not in library.assemblies:
        raise ScopeError(
            f"{item.assembly!r} is not in the library",
            remedy=f"use one of {', '.join(sorted(library.assemblies))}",
            where=item.uid,
        )
    return library.assemblies[item.assembly]


def applies(part: Part, words: Mapping[str, str]) -> bool:
    """Return True if every ask the part hangs on was answered with one of its words."""
    return all(words.get(key) in allowed for key, allowed in part.when.items())


# -- one answer ------------------------------------------------------------------------


def _unknown(assembly: Assembly, answers: Mapping[str, str]) -> dict[str, Fault]:
    known = [ask.key for ask in assembly.asks]
    remedy = f"{assembly.name} asks for {', '.join(known) or 'nothing'}"
    return {key: Fault(f"{key!r} is not asked here", remedy) for key in answers if key not in known}


def _default(ask: Ask, zone: ZoneIn | None) -> str:
    if ask.key == AREA and ask.unit == "ft2" and zone is not None and zone.area:
        return str(zone.area)
    return ask.default


def _word(ask: Ask, told: str) -> str:
    for choice in ask.choices:
        if told.casefold() == choice.casefold():
            return choice
    what = f"{told!r} is not a choice for {ask.name.lower()}" if told else f"{ask.name} is missing"
    raise TradeError(what, remedy=f"choose one of {', '.join(ask.choices)}")


def _amount(ask: Ask, told: str) -> Decimal:
    if not told:
        remedy = "say how many" if ask.unit == "each" else f"give it in {ask.unit}"
        raise TradeError(f"{ask.name} is missing", remedy=remedy)
    amount = parse_quantity(told, ask.unit).amount
    if ask.required and amount == 0:
        raise TradeError(
            f"{ask.name} is zero, so there is nothing to build",
            remedy="give more than zero, or take the item out",
        )
    if ask.most is not None and amount > ask.most:
        raise TradeError(
            f"{ask.name}: {plain(amount)} {ask.unit} is more than a yard holds",
            remedy=f"give {plain(ask.most)} {ask.unit} or less, or split it up",
        )
    return amount


def plain(amount: Decimal) -> str:
    """Return a number as people write it: 420 not 4.2E+2, 5.25 not 5.250."""
    try:
        whole = amount.quantize(Decimal(1)) == amount
    except InvalidOperation:
        whole = False
    return f"{amount:.0f}" if whole else f"{amount.normalize():f}"


# -- one part --------------------------------------------------------------------------


def _measured(template: Template, amount: Decimal, ordinal: int) -> Measured:
    days = template.unit == "days"
    told = template.rate[1] if days else amount.quantize(THOUSANDTH)
    quantity = Quantity(max(told, THOUSANDTH), template.unit)
    return Measured(template, quantity, spread_of(quantity, template.rate, template.shift), ordinal)


def _in_pours(found: list[Measured]) -> tuple[Measured, ...]:
    """Split what must be done in one go and takes longer than a day; joints and cure go along."""
    slab = max((pours(m.spread.typical) for m in found if m.template.key == POUR), default=1)
    split: list[Measured] = []
    for one in found:
        if one.template.key in POURED:
            split += _shares(one, pours(one.spread.typical))
        elif one.template.key in WITH_EACH_POUR:
            split += _shares(one, slab)
        else:
            split.append(one)
    return tuple(split)


def _shares(one: Measured, count: int) -> list[Measured]:
    amount = (one.quantity.amount / count).quantize(THOUSANDTH)
    quantity = replace(one.quantity, amount=amount)
    spread = spread_of(quantity, one.template.rate, one.template.shift)
    return [Measured(one.template, quantity, spread, one.ordinal + n) for n in range(count)]
