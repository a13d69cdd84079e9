"""Figures of one's own in words: what of which row, and how it stands, for pages and proposals."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from django.urls import reverse

from jobs.trade.errors import TradeError
from jobs.trade.overrides import LEAST, PACE, Own, fits, ours_of, parts_of
from jobs.trade.own_rows import SECTIONS, WEATHER_OF, figure_of, ours_now, row_of
from jobs.trade.own_values import read_own, say_value
from jobs.trade.precedence import Rule

from .library_words import plain

if TYPE_CHECKING:
    from jobs.trade.library import Library

SECTION_WORDS = {
    "weather": "weather limits",
    "machine": "machine",
    "carrier": "carrying",
    "notice": "notice before digging",
    "dryout": "ground drying after rain",
    WEATHER_OF: "weather limits of one work",
    "rule": "rule",
}


class OwnTold(NamedTuple):
    """A figure in words: the row, which figure of it, one's own, ours, and where to look it up."""

    name: str
    what: str
    own: str
    ours: str
    address: str


def tell_own(library: Library, path: str, value: object) -> OwnTold:
    """Return a figure of one's own in words; bare where the library has its place no more."""
    section, key, what = parts_of(path)
    if not fits(library, Own(path, value)):
        return OwnTold(key, what, _figure(value), "", "")
    if section in SECTIONS:
        return _of_row(library, path, value)
    known = library.templates[key] if section == "template" else library.waits[key]
    return OwnTold(
        known.name, _what(what), _figure(value), _ours(library, path), reverse(section, args=[key])
    )


def row_name(library: Library, section: str, key: str) -> str:
    """Return what a row is called: its name, a rule by its works, a texture by its word."""
    row = row_of(library, section, key)
    if isinstance(row, Rule):
        return rule_name(library, row)
    return str(getattr(row, "name", "")) or f"{key[:1].upper()}{key[1:]}"


def rule_name(library: Library, rule: Rule) -> str:
    """Return a rule by its works: ``Set posts before frame shade structure``."""
    before, after = (
        _some([library.templates[key].name for key in keys]) for keys in (rule.before, rule.after)
    )
    return f"{before} before {after[:1].lower()}{after[1:]}"


def _some(names: list[str]) -> str:
    """The first two of some works, and how many more there are."""
    first, *rest = names[:2]
    told = " or ".join([first, *(f"{name[:1].lower()}{name[1:]}" for name in rest)])
    more = len(names) - 2
    return f"{told} (or {more} more)" if more > 0 else told


def _of_row(library: Library, path: str, value: object) -> OwnTold:
    section, key, what = parts_of(path)
    figure = figure_of(library, section, key, what)
    return OwnTold(
        row_name(library, section, key),
        f"{figure.words[:1].lower()}{figure.words[1:]}",
        say_value(figure, read_own(figure, value)),
        say_value(figure, ours_now(library, section, key, figure)),
        reverse("entry", args=[section, key]),
    )


def _ours(library: Library, path: str) -> str:
    section, key, what = parts_of(path)
    if what == LEAST and section == "template":
        return str(library.templates[key].least)
    try:
        return " · ".join(map(plain, ours_of(library, path)))
    except TradeError:
        return ""


def _what(what: str) -> str:
    if what == LEAST:
        return "least people"
    word, _, way = what.partition(" ")
    return f"pace {way}" if word == PACE else "pace" if what == "rate" else "time"


def _figure(value: object) -> str:
    return " · ".join(map(str, value)) if isinstance(value, list) else str(value)
