"""Reads the trade library as one browses it: every kind of work under its material, or what is looked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from jobs.drawing.marks import MATERIALS
from jobs.services.library import current_library
from jobs.services.library_words import pace_words, wait_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.trade.library import Assembly, Library, Template, WaitKind

LONGEST_QUERY = 80


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
