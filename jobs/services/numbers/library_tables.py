"""Tables of the library that plans look things up in, in words: trees, slabs, soils, gates, wire, pours."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jobs.trade.units import say_length

from .library_words import plain, said_by

if TYPE_CHECKING:
    from collections.abc import Iterator
    from decimal import Decimal

    from jobs.trade.facts import BoxTree, Placing, SlabLoad, Soil
    from jobs.trade.library import Library


DAY = 24


class FactRow(NamedTuple):
    """One row of a table: what, what is known of it, and who says so."""

    name: str
    told: str
    source: str


class FactGroup(NamedTuple):
    """One table, with a word for it."""

    word: str
    rows: tuple[FactRow, ...]


def fact_groups(library: Library) -> tuple[FactGroup, ...]:
    """Return every table of facts of the library."""
    return (
        FactGroup("On a new slab", tuple(map(_load, library.loads.values()))),
        FactGroup("Boxed trees", tuple(map(_tree, library.trees.values()))),
        FactGroup("Bringing concrete", tuple(map(_placing, library.placings.values()))),
        FactGroup("Soils", tuple(map(_soil, library.soils.values()))),
        FactGroup("What gets through", tuple(_gates(library))),
        FactGroup("Buried wire", tuple(_covers(library))),
    )


def _load(row: SlabLoad) -> FactRow:
    if row.hours is None:
        return FactRow(row.name, row.note, said_by(row.source))
    told = f"not before {_time(row.hours)}"
    if row.cool_hours is not None:
        told += f", {_time(row.cool_hours)} below 50 °F"
    if row.strength is not None:
        told += f" and {row.strength:.0%} of its strength, both"
    if row.max_lb is not None:
        told += f"; up to {row.max_lb:,} lb"
    return FactRow(row.name, told, said_by(row.source))


def _time(hours: Decimal) -> str:
    """Return days where they are whole and more than two, else hours."""
    if hours % DAY == 0 and hours > 2 * DAY:
        return f"{plain(hours / DAY)} days"
    return f"{plain(hours)} hour{'' if hours == 1 else 's'}"


def _tree(row: BoxTree) -> FactRow:
    way = "over the house" if row.passage is None else f"needs {say_length(row.passage)}"
    size = (
        f"{_range(row.weight_lb)} lb, {_range(row.box_ft3)} ft³, hole {plain(row.hole_ft)} ft wide"
    )
    return FactRow(row.name, f"{size}; {row.moved_by}; {way}", said_by(row.source))


def _placing(row: Placing) -> FactRow:
    each = " for each person" if row.per_person else ""
    low, typical, high = map(plain, row.pace)
    far = "" if row.reach_ft is None else f", up to {row.reach_ft} ft"
    told = f"{low}, {typical} or {high} yd³ an hour{each}{far}; {row.needs}"
    return FactRow(row.name, told, said_by(row.source))


def _soil(row: Soil) -> FactRow:
    swell = _range((row.swell[0] * 100, row.swell[1] * 100))
    low, high = (share * 100 for share in row.shrink)
    packed = f"{_range((low, high))} % less" if high >= 0 else f"{_range((-high, -low))} % more"
    told = f"{_range(row.lb_ft3)} lb/ft³ in the bank; loose {swell} % more, compacted {packed}"
    return FactRow(row.name, f"{told}; dries as {row.texture}", said_by(row.source))


def _gates(library: Library) -> Iterator[FactRow]:
    for row in library.gates:
        name = f"{say_length(row.width)} and more" if row.width else "Less"
        yield FactRow(name, row.passes, said_by(row.source))


def _covers(library: Library) -> Iterator[FactRow]:
    for row in library.covers.values():
        told = (
            f"{say_length(row.cover)} of soil over it; the trench is deeper by the pipe and its bed"
        )
        yield FactRow(row.name, told, said_by(row.source))


def _range(span: tuple[Decimal, Decimal]) -> str:
    low, high = map(plain, span)
    return low if low == high else f"{low} to {high}"
