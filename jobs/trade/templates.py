"""Kinds of work, and who and what does them: crews and machines by their kind, paces by the way it is done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .work import Shift, Tread

if TYPE_CHECKING:
    from decimal import Decimal


@dataclass(frozen=True, slots=True)
class CrewKind:
    """A usual crew of the trade: code, plain name, skill, usual people, whether outside."""

    code: str
    name: str
    skill: str
    usual: int
    outside: bool = False


@dataclass(frozen=True, slots=True)
class MachineKind:
    """A machine by its kind: least clear passage in tenths of a millimetre, weight in pounds.

    Attributes
    ----------
    passage
        Clear width it needs at the narrowest, clearance included; 0 goes where people go.
    weight_lb
        The heaviest of its kind, loaded.
    clearance
        What it needs beyond its own width (4 in walk-behind, 6 in ride-on).
    counted
        False for hand tools and barrows that every crew carries: no capacity is kept for them.
    width, pressure_psi
        Narrowest and widest of the kind; lightest and heaviest ground pressure; None unknown.
    """

    key: str
    name: str
    passage: int
    weight_lb: int
    tread: Tread
    source: str
    clearance: int = 0
    counted: bool = True
    width: tuple[int, int] | None = None
    pressure_psi: tuple[Decimal, Decimal] | None = None
    note: str = ""
    headroom: int = 0
    """Clear height it needs, tenths of a millimetre; 0 where it goes under any gate."""


@dataclass(frozen=True, slots=True)
class Pace:
    """Another way of doing a work, with its own rate (by hand, by loader, blown in)."""

    way: str
    rate: tuple[Decimal, Decimal, Decimal]
    people: int | None = None
    machine: str = ""


@dataclass(frozen=True, slots=True)
class Template:
    """One kind of activity: who, how fast, with what, in what weather.

    ``rate`` is quantity per 8-h crew day as low, typical, high; for the unit ``days`` the three
    figures are the duration itself, low, typical, high. An evening work's rate is per evening.

    Attributes
    ----------
    crew, others
        Kind of crew that usually does it; kinds that may do it instead.
    weather, also_weather, wind_mph
        Its weather class; further classes that bind as well; a lower wind limit of its own.
    machines
        What it needs, all of them; each entry is a tuple of alternatives, preferred first.
    paces
        Other ways with their own rates.
    closes, reopens
        Least tread it shuts its zone to once begun, for what crosses it to work elsewhere (work in
        the zone itself goes by the rules); templates whose finish opens it again (none: shut for
        good).
    advice
        One line for whoever does it.
    digs
        It breaks ground: a legal locate ticket must stand.
    sign
        Who must say yes before anything that follows may start.
    """

    key: str
    name: str
    crew: str
    least: int
    unit: str
    rate: tuple[Decimal, Decimal, Decimal]
    weather: str
    material: str
    source: str
    machines: tuple[tuple[str, ...], ...] = ()
    tread: Tread = Tread.FOOT
    one_go: bool = False
    shift: Shift = Shift.DAY
    request: bool = False
    counts: bool = True
    sign: str = ""
    digs: bool = False
    cautions: tuple[str, ...] = ()
    milestone: str = ""
    advice: str = ""
    others: tuple[str, ...] = ()
    also_weather: tuple[str, ...] = ()
    wind_mph: Decimal | None = None
    own_weather: tuple[tuple[str, Decimal], ...] = ()
    """Weather limits somebody set for this work alone, by the field of its class they stand in for."""
    paces: tuple[Pace, ...] = ()
    closes: Tread | None = None
    reopens: tuple[str, ...] = ()
