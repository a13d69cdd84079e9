"""Reads one row of the library that is no kind of work and no wait: limits, machine, rule, notice, ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from django.http import Http404
from django.urls import reverse

from jobs.services.numbers.library import current_library
from jobs.services.numbers.library_words import (
    SourceRow,
    plain,
    rule_how,
    said_by,
    sources_of,
    weather_notes,
)
from jobs.services.numbers.own_words import SECTION_WORDS, row_name
from jobs.trade.facts import Carrier, DryOut
from jobs.trade.library import NoticeRule, WeatherClass
from jobs.trade.own_rows import Row, figures_for, ours_now, row_of
from jobs.trade.own_values import say_value
from jobs.trade.precedence import Rule
from jobs.trade.templates import MachineKind, Template
from jobs.trade.units import say_length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from jobs.trade.library import Library


class Fact(NamedTuple):
    """A figure and how it stands."""

    words: str
    figure: str


class Place(NamedTuple):
    """Something else of the library, and where to look it up."""

    name: str
    address: str


@dataclass(frozen=True, slots=True)
class EntryPage:
    """One row of the library, all of it."""

    section: str
    key: str
    kind: str
    name: str
    facts: tuple[Fact, ...]
    notes: tuple[str, ...]
    places: tuple[Place, ...]
    places_word: str
    source: str
    sources: tuple[SourceRow, ...]


def read_entry(section: str, key: str) -> EntryPage:
    """Read one row of the library, or answer 404."""
    library = current_library()
    row = row_of(library, section, key)
    if row is None:
        raise Http404(f"The library has no {section} {key}")
    word, places = _places(library, row)
    return EntryPage(
        section=section,
        key=key,
        kind=SECTION_WORDS[section],
        name=row_name(library, section, key),
        facts=tuple(
            Fact(figure.words, say_value(figure, ours_now(library, section, key, figure)))
            for figure in figures_for(library, section, key)
        ),
        notes=tuple(_notes(library, row)),
        places=tuple(places),
        places_word=word,
        source=said_by(row.source),
        sources=sources_of([row.source], library),
    )


def _notes(library: Library, row: Row) -> Iterator[str]:
    """What else is known of it, a sentence each."""
    match row:
        case WeatherClass():
            yield from weather_notes(row)
            yield "All outdoor work stops at thunder and for 30 minutes after it, and above 35 mph."
        case MachineKind():
            yield from _machine_notes(row)
        case NoticeRule():
            yield from _notice_notes(row)
        case DryOut():
            yield (
                "Bare soil in the warm season. The foreman's squeeze test overrules: a ball that "
                "crumbles is ready."
            )
        case Rule():
            yield row.why
            told = rule_how(row, library.waits)
            yield f"{told[0].upper()}{told[1:]}."
        case Template():
            yield "What is set here goes for this work alone; its classes stay as they are."
        case _:
            return


def _machine_notes(row: MachineKind) -> Iterator[str]:
    if row.width:
        yield f"{say_length(row.width[0])} to {say_length(row.width[1])} wide."
    if row.pressure_psi:
        low, high = map(plain, row.pressure_psi)
        yield f"Presses on the ground with {low} to {high} psi."
    if row.note:
        yield f"{row.note[0].upper()}{row.note[1:]}."


def _notice_notes(row: NoticeRule) -> Iterator[str]:
    yield "Read the ticket: it states the legal start. Wait for every operator's answer."
    if row.cutoff:
        yield f"A call after {row.cutoff} counts as one of the next business day."
    if row.saturday:
        yield f"A call on a Saturday ripens on {row.saturday.capitalize()}."
    if row.note:
        yield f"{row.note[0].upper()}{row.note[1:]}."


def _places(library: Library, row: Row) -> tuple[str, Iterable[Place]]:
    """Return what of the library goes by it, with a word for that."""
    match row:
        case WeatherClass():
            keys = [
                k for k, t in library.templates.items() if row.key in (t.weather, *t.also_weather)
            ]
            return "Holds for", _works(library, keys)
        case MachineKind():
            keys = [
                k for k, t in library.templates.items() if any(row.key in n for n in t.machines)
            ]
            return "Used to", _works(library, keys)
        case Rule():
            waits = [key for key in (row.wait, row.expires) if key]
            places = [Place(library.waits[k].name, reverse("wait", args=[k])) for k in waits]
            return "Ties", [*_works(library, [*row.before, *row.after]), *places]
        case Template():
            classes = [library.weather[key] for key in (row.weather, *row.also_weather)]
            places = [Place(c.name, reverse("entry", args=["weather", c.key])) for c in classes]
            return "Goes by", [*_works(library, [row.key]), *places]
        case DryOut():
            soils = [soil.name for soil in library.soils.values() if soil.texture == row.texture]
            return "Soils", [Place(name, "") for name in soils]
        case Carrier() | NoticeRule():
            return "", ()


def _works(library: Library, keys: Iterable[str]) -> list[Place]:
    return [Place(library.templates[key].name, reverse("template", args=[key])) for key in keys]
