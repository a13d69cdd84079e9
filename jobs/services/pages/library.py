"""Reads the trade library as one browses it: every kind of work under its material, or what is looked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from jobs.drawing.marks import MATERIALS
from jobs.services.numbers.library import current_library
from jobs.services.numbers.library_tables import FactGroup, fact_groups
from jobs.services.numbers.library_words import pace_words, wait_words, weather_limits
from jobs.services.numbers.own_words import row_name
from jobs.trade.library import WeatherClass
from jobs.trade.own_rows import SECTIONS, figures_for, ours_now, row_of
from jobs.trade.own_values import say_value
from jobs.trade.precedence import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from jobs.trade.assemblies import Assembly
    from jobs.trade.library import Library
    from jobs.trade.precedence import WaitKind
    from jobs.trade.templates import Template

LONGEST_QUERY = 80
MOST_TOLD = 3
RULE = "rule"
GROUPS = {
    "weather": "Weather limits",
    "machine": "Machines",
    "carrier": "Carrying by trips",
    "dryout": "Ground drying after rain",
    "notice": "Notices before digging",
    RULE: "Rules",
}
"""Sections of other rows, in the order they are listed."""


class TemplateRow(NamedTuple):
    """A kind of work in the list."""

    key: str
    name: str
    material: str
    crew: str
    pace: str
    weather: str


class WaitRow(NamedTuple):
    """A wait in the list."""

    key: str
    name: str
    lasts: str
    why: str


class EntryRow(NamedTuple):
    """Another row of the library in the list: limits, a machine, the ground, a notice, a rule."""

    section: str
    key: str
    name: str
    told: str


class EntryGroup(NamedTuple):
    """The rows of one section."""

    word: str
    rows: tuple[EntryRow, ...]


class TradeGroup(NamedTuple):
    """The kinds of work of one material."""

    word: str
    rows: tuple[TemplateRow, ...]


@dataclass(frozen=True, slots=True)
class LibraryPage:
    """What is known of the trade, and what of it was looked for."""

    query: str
    groups: tuple[TradeGroup, ...]
    waits: tuple[WaitRow, ...]
    others: tuple[EntryGroup, ...]
    facts: tuple[FactGroup, ...]
    found: int
    templates: int
    rules: int
    sources: int


def read_library_page(query: str = "") -> LibraryPage:
    """Read the library; every word of the query must stand somewhere in what is told of a work."""
    library = current_library()
    query = " ".join(query.split())[:LONGEST_QUERY]
    words = query.casefold().split()
    texts = search_texts()
    found = [row for row in library.templates.values() if _has(texts[row.key], words)]
    waits = [row for row in library.waits.values() if _has(texts[row.key], words)]
    return LibraryPage(
        query=query,
        groups=_groups(found, library),
        waits=tuple(WaitRow(w.key, w.name, wait_words(w), w.why) for w in waits),
        others=tuple(_others(words)),
        facts=tuple(_facts(words)),
        found=len(found),
        templates=len(library.templates),
        rules=len(library.rules),
        sources=len(library.sources),
    )


@cache
def search_texts() -> Mapping[str, str]:
    """Return what is searched for each kind of work and each wait, folded."""
    library = current_library()
    texts = {key: _template_text(row, library) for key, row in library.templates.items()}
    return texts | {key: _wait_text(row) for key, row in library.waits.items()}


def _others(words: list[str]) -> Iterator[EntryGroup]:
    """The other sections; all but the rules where nothing is looked for."""
    for section, word in GROUPS.items():
        rows = tuple(
            row
            for row, text in entry_texts()
            if row.section == section and _has(text, words) and (words or section != RULE)
        )
        if rows:
            yield EntryGroup(word, rows)


def _facts(words: list[str]) -> Iterator[FactGroup]:
    """The tables of facts, or their rows that are looked for."""
    for group in fact_groups(current_library()):
        rows = tuple(
            row
            for row in group.rows
            if _has(f"{group.word} {row.name} {row.told}".casefold(), words)
        )
        if rows:
            yield FactGroup(group.word, rows)


@cache
def entry_texts() -> tuple[tuple[EntryRow, str], ...]:
    """Return every other row of the library with the text it is searched by, folded."""
    library = current_library()
    found = []
    for section in GROUPS:
        for key in entry_keys(library, section):
            name, told = row_name(library, section, key), _told(library, section, key)
            row = EntryRow(section, key, name, told)
            found.append((row, f"{name} {key} {told}".casefold()))
    return tuple(found)


def entry_keys(library: Library, section: str) -> list[str]:
    """Return the keys of the rows of a section."""
    if section == RULE:
        return [rule.id for rule in library.rules]
    return list(getattr(library, SECTIONS[section]))


def _told(library: Library, section: str, key: str) -> str:
    """What a row says, shortly."""
    row = row_of(library, section, key)
    if isinstance(row, Rule):
        return row.why
    if isinstance(row, WeatherClass):
        return " ".join(weather_limits(row))
    figures = figures_for(library, section, key)[:MOST_TOLD]
    told = (
        f"{figure.words.lower()} {say_value(figure, ours_now(library, section, key, figure))}"
        for figure in figures
    )
    return "; ".join(told)


def _has(text: str, words: list[str]) -> bool:
    return all(word in text for word in words)


def _template_text(row: Template, library: Library) -> str:
    machines = [library.machines[kind].name for kinds in row.machines for kind in kinds]
    told = [row.name, row.key, row.advice, row.milestone, MATERIALS[row.material]]
    told += [library.crews[row.crew].name, library.weather[row.weather].name, *machines]
    told += [one.name for one in library.assemblies.values() if _made_of(one, row)]
    return " ".join(told).casefold()


def _made_of(assembly: Assembly, row: Template) -> bool:
    return any(part.template == row.key for part in assembly.parts)


def _wait_text(row: WaitKind) -> str:
    return f"{row.name} {row.key} {row.why}".casefold()


def _groups(found: list[Template], library: Library) -> tuple[TradeGroup, ...]:
    groups = []
    for material, word in MATERIALS.items():
        rows = tuple(_row(one, library) for one in found if one.material == material)
        if rows:
            groups.append(TradeGroup(word, rows))
    return tuple(groups)


def _row(one: Template, library: Library) -> TemplateRow:
    return TemplateRow(
        one.key,
        one.name,
        one.material,
        library.crews[one.crew].name,
        pace_words(one, one.rate),
        library.weather[one.weather].name,
    )
