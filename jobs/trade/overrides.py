"""A contractor's own figures in place of the library's: checked as loading checks them, then put in.

A path says in words what is changed: ``template pour-slab rate``, ``template pour-slab least``,
``template dig-footings pace by hand``, ``wait W-cure figures``; other sections (weather, machines, rules ...)
name one field of a row: ``weather W3 wind_mph``. Values are plain: figures as text, alone or in a list of
three, a number of people as a whole number, so that they can be stored as they are.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from . import loading_fields as read
from .errors import Fault, LibraryError, TradeError
from .own_rows import SECTIONS, check_row, put_row
from .own_values import read_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from .library import Library
    from .precedence import WaitKind
    from .templates import Template

BY_LAW = frozenset({"W-locate"})
"""Waits that the state sets, not the contractor."""
PUBLISHED = frozenset(
    {"W-cure", "W-cure-slow", "W-cure-slower", "W-rainsafe", "W-running-water", "W-strip"}
)
"""Waits of concrete whose least is published: below it only an engineer may go, for one pour."""
RATE, LEAST, PACE, FIGURES = "rate", "least", "pace", "figures"
THREE = 3
FARTHEST = 20
"""A figure so many times ours, or ours so many times it, is a slip of the hand."""
Triple = tuple[Decimal, Decimal, Decimal]


class Own(NamedTuple):
    """A figure of one's own: what it replaces, and the value."""

    path: str
    value: object


def with_overrides(library: Library, overrides: Iterable[Own]) -> Library:
    """Return the library with a contractor's own figures in it; later ones win over earlier.

    Raises
    ------
    LibraryError
        With every fault: a path that leads nowhere, figures that do not rise or lie far off ours,
        fewer people than one or more than the usual crew.
    """
    made, faults = library, []
    for own in overrides:
        try:
            check_own(library, own)
            made = _put(made, own)
        except TradeError as error:
            faults.append(Fault(own.path, error.reason, error.remedy))
    if faults:
        raise LibraryError(tuple(faults))
    return made


def check_own(library: Library, own: Own) -> None:
    """Refuse a figure of one's own that cannot stand in a library.

    Raises
    ------
    TradeError
        With what is wrong and what to write instead.
    """
    section, key, what = parts_of(own.path)
    if section in SECTIONS:
        check_row(library, section, key, what, own.value)
        return
    _put(library, own)
    if what == LEAST:
        return
    ours = ours_of(library, own.path)
    low, usual, high = _triple(own.value, zero=section == "wait")
    if usual > ours[1] * FARTHEST or usual * FARTHEST < ours[1] or high > ours[2] * FARTHEST:
        raise TradeError(
            f"{usual.normalize():f} is more than {FARTHEST} times off the usual {ours[1].normalize():f}",
            remedy="look at the figure and its unit once more",
        )
    if section == "template" and low * FARTHEST < ours[0]:
        raise TradeError(
            f"{low.normalize():f} is more than {FARTHEST} times below {ours[0].normalize():f}",
            remedy="look at the figure and its unit once more",
        )


def fits(library: Library, own: Own) -> bool:
    """Return True if a figure of one's own still has its place in a library."""
    try:
        check_own(library, own)
    except TradeError:
        return False
    return True


def ours_of(library: Library, path: str) -> Triple:
    """Return the three figures of the library that a path leads to.

    Raises
    ------
    TradeError
        If it leads to none.
    """
    section, key, what = parts_of(path)
    if section == "wait" and key in library.waits:
        wait = library.waits[key]
        return wait.least, wait.usual, wait.high
    if section == "template" and key in library.templates:
        row = library.templates[key]
        paces = {f"{PACE} {pace.way}": pace.rate for pace in row.paces} | {RATE: row.rate}
        if what in paces:
            return paces[what]
    raise _nowhere(path)


def read_triple(told: Sequence[object], *, zero: bool = False) -> Triple:
    """Return three figures as they were typed or stored, which must rise.

    Parameters
    ----------
    zero
        The lowest may be nothing at all.

    Raises
    ------
    TradeError
        If one is no number, not above zero, or they do not rise.
    """
    low, usual, high = map(read_number, told)
    if zero and low == 0 < usual:
        read.rate([usual, usual, high])
        return low, usual, high
    return read.rate([low, usual, high])


def parts_of(path: str) -> tuple[str, str, str]:
    """Return section, key and figure of a path."""
    section, _, rest = path.partition(" ")
    key, _, what = rest.partition(" ")
    return section, key, what


def _nowhere(path: str) -> TradeError:
    return TradeError(f"the library has no {path}", remedy="take this figure out")


def _put(library: Library, own: Own) -> Library:
    """Return the library with one figure in it."""
    section, key, what = parts_of(own.path)
    if section in SECTIONS:
        return put_row(library, section, key, what, own.value)
    if section == "wait" and key in library.waits:
        wait = _wait(library.waits[key], what, own.value)
        return replace(library, waits=MappingProxyType({**library.waits, key: wait}))
    if section == "template" and key in library.templates:
        row = _template(library, library.templates[key], what, own.value)
        return replace(library, templates=MappingProxyType({**library.templates, key: row}))
    raise _nowhere(own.path)


def _template(library: Library, row: Template, what: str, value: object) -> Template:
    if what == LEAST:
        return replace(row, least=_least(library, row, value))
    if what == RATE:
        return replace(row, rate=_triple(value))
    word, _, way = what.partition(" ")
    if word != PACE or way not in [pace.way for pace in row.paces]:
        raise _nowhere(f"template {row.key} {what}")
    rate = _triple(value)
    return replace(
        row, paces=tuple(replace(p, rate=rate) if p.way == way else p for p in row.paces)
    )


def _least(library: Library, row: Template, value: object) -> int:
    least, crew = read.head_count(value), library.crews[row.crew]
    if least > crew.usual:
        raise TradeError(
            f"{least} people at least, but {crew.name} are {crew.usual}",
            remedy=f"write {crew.usual} or fewer",
        )
    return least


def _wait(row: WaitKind, what: str, value: object) -> WaitKind:
    if what != FIGURES:
        raise _nowhere(f"wait {row.key} {what}")
    if row.key in BY_LAW:
        raise TradeError(
            f"{row.name} is set by the state, not by us",
            remedy="ask the state's notice center, and keep its answer as the ticket",
        )
    least, usual, high = _triple(value, zero=True)
    if row.key in PUBLISHED and least < row.least:
        raise TradeError(
            f"{least.normalize():f} is less than the published least, {row.least.normalize():f}",
            remedy="an engineer's release for one pour is recorded with that pour",
        )
    return replace(row, least=least, usual=usual, high=high)


def _triple(value: object, *, zero: bool = False) -> Triple:
    if not isinstance(value, list | tuple) or len(value) != THREE:
        raise TradeError(f"{value!r} is not three figures", remedy="write low, usual and high")
    return read_triple(value, zero=zero)
