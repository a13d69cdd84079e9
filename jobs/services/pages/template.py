"""Reads all that the library knows of one kind of work, or of one wait, and where it knows it from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from django.http import Http404

from jobs.drawing.marks import MATERIALS
from jobs.services.numbers.library import current_library
from jobs.services.numbers.library_words import (
    SHIFTS,
    SourceRow,
    machine_words,
    pace_unit,
    plain,
    rule_how,
    said_by,
    sources_of,
    span_words,
    wait_words,
    weather_limits,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.trade.library import Library
    from jobs.trade.precedence import Rule, WaitKind
    from jobs.trade.templates import Template

TREADS = {1: "everybody", 2: "barrows and heavier", 3: "machines", 4: "heavy machines"}


class PaceRow(NamedTuple):
    """Three figures of one way of doing a work."""

    way: str
    low: str
    typical: str
    high: str


class RuleRow(NamedTuple):
    """A rule as told beside one of its works: the others, how, and why."""

    id: str
    others: tuple[tuple[str, str], ...]
    how: str
    why: str
    source: str


class HoldRow(NamedTuple):
    """A wait after the work that keeps somebody out."""

    key: str
    name: str
    lasts: str
    out: str
    why: str


class CautionRow(NamedTuple):
    """A caution and whom it defers to."""

    text: str
    authority: str


@dataclass(frozen=True, slots=True)
class TemplatePage:
    """One kind of work, all of it."""

    key: str
    name: str
    material: str
    material_word: str
    crew: str
    usual: int
    least: int
    others: tuple[str, ...]
    outside: bool
    machines: tuple[tuple[tuple[str, str], ...], ...]
    unit: str
    paces: tuple[PaceRow, ...]
    marks: tuple[str, ...]
    weather: tuple[tuple[str, str, tuple[str, ...]], ...]
    holds: tuple[HoldRow, ...]
    after: tuple[RuleRow, ...]
    before: tuple[RuleRow, ...]
    cautions: tuple[CautionRow, ...]
    advice: str
    used_in: tuple[tuple[str, str], ...]
    source: str
    sources: tuple[SourceRow, ...]


@dataclass(frozen=True, slots=True)
class WaitPage:
    """One wait, all of it."""

    key: str
    name: str
    least: str
    usual: str
    high: str
    why: str
    out: str
    after: tuple[tuple[str, str], ...]
    exempt: tuple[tuple[str, str], ...]
    rules: tuple[tuple[str, RuleRow], ...]
    instead_of: tuple[str, str] | None
    source: str
    sources: tuple[SourceRow, ...]


def read_template(key: str) -> TemplatePage:
    """Read one kind of work, or answer 404."""
    library = current_library()
    one = library.templates.get(key)
    if one is None:
        raise Http404(f"The library has no {key}")
    crew = library.crews[one.crew]
    holds = [wait for wait in library.waits.values() if key in wait.after]
    after = [rule for rule in library.rules if key in rule.after]
    before = [rule for rule in library.rules if key in rule.before]
    classes = [library.weather[name] for name in (one.weather, *one.also_weather)]
    return TemplatePage(
        key=key,
        name=one.name,
        material=one.material,
        material_word=MATERIALS[one.material],
        crew=crew.name,
        usual=crew.usual,
        least=one.least,
        others=tuple(library.crews[name].name for name in one.others),
        outside=crew.outside,
        machines=_machines(one, library),
        unit=pace_unit(one),
        paces=_paces(one),
        marks=tuple(_marks(one)),
        weather=tuple((kind.key, kind.name, weather_limits(kind)) for kind in classes),
        holds=tuple(_hold(wait) for wait in holds),
        after=tuple(_rule(rule, rule.before, library) for rule in after),
        before=tuple(_rule(rule, rule.after, library) for rule in before),
        cautions=tuple(
            CautionRow(library.cautions[name].text, library.cautions[name].authority)
            for name in one.cautions
        ),
        advice=one.advice,
        used_in=tuple(
            (assembly.name, assembly.group)
            for assembly in library.assemblies.values()
            if any(part.template == key for part in assembly.parts)
        ),
        source=said_by(one.source),
        sources=sources_of(
            [one.source, *(row.source for rows in (classes, holds, after, before) for row in rows)],
            library,
        ),
    )


def read_wait(key: str) -> WaitPage:
    """Read one wait, or answer 404."""
    library = current_library()
    one = library.waits.get(key)
    if one is None:
        raise Http404(f"The library has no {key}")
    rules = [rule for rule in library.rules if key in (rule.wait, rule.expires)]
    return WaitPage(
        key=key,
        name=one.name,
        least=span_words(one.least, one.unit, one.clock),
        usual=span_words(one.usual, one.unit, one.clock),
        high=span_words(one.high, one.unit, one.clock),
        why=one.why,
        out=_out(one),
        after=_names(one.after, library),
        exempt=_names(sorted(one.exempt), library),
        rules=tuple(
            (" or ".join(library.templates[t].name for t in rule.before), row)
            for rule, row in ((rule, _rule(rule, rule.after, library)) for rule in rules)
        ),
        instead_of=(
            (one.instead_of, library.waits[one.instead_of].name) if one.instead_of else None
        ),
        source=said_by(one.source),
        sources=sources_of([one.source, *(rule.source for rule in rules)], library),
    )


def _names(keys: Iterable[str], library: Library) -> tuple[tuple[str, str], ...]:
    return tuple((key, library.templates[key].name) for key in keys)


def _machines(one: Template, library: Library) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Return each need with its alternatives: key and words."""
    return tuple(
        tuple((kind, machine_words(library.machines[kind])) for kind in kinds)
        for kinds in one.machines
    )


def _paces(one: Template) -> tuple[PaceRow, ...]:
    rows = [("usual", one.rate), *((pace.way, pace.rate) for pace in one.paces)]
    return tuple(PaceRow(way, *map(plain, rate)) for way, rate in rows)


def _marks(one: Template) -> Iterable[str]:
    """Return what is special about how it is done, a sentence each."""
    if one.one_go:
        yield "Done in one go, within one day."
    if SHIFTS[one.shift]:
        yield f"Done {SHIFTS[one.shift]}."
    if one.digs:
        yield "Breaks ground: the marks of buried lines must stand."
    if one.sign:
        yield f"The {one.sign} must say yes before anything that follows may start."
    if one.request:
        yield "Worked back from when it is needed, not done as early as possible."
    if one.closes is not None:
        told = f"Once begun, its place is shut to {TREADS[one.closes]} that go through"
        yield f"{told}, for good." if not one.reopens else f"{told}, until it is covered again."


def _hold(wait: WaitKind) -> HoldRow:
    return HoldRow(wait.key, wait.name, wait_words(wait), _out(wait), wait.why)


def _out(wait: WaitKind) -> str:
    return "" if wait.keeps_out is None else TREADS[wait.keeps_out]


def _rule(rule: Rule, others: Iterable[str], library: Library) -> RuleRow:
    return RuleRow(
        rule.id,
        _names(others, library),
        rule_how(rule, library.waits),
        rule.why,
        said_by(rule.source),
    )
