"""The trade library as checked dataclasses: what we know, each figure with its source.

Built by ``build_library`` from plain mappings (one per file), never from paths: reading the TOML
files of ``fixtures/trade`` is a service's work.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from .work import Clock, Relation, Shift, Tread

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

    from .facts import (
        BoxTree,
        Carrier,
        DryOut,
        Gate,
        Placing,
        SlabLoad,
        Soil,
        WireCover,
    )


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from and whether it was read.

    A row's ``source`` is one code of these, or several joined by ``; ``.
    """

    code: str
    title: str
    status: str
    """``read``, ``from memory`` or ``common practice``."""


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


@dataclass(frozen=True, slots=True)
class WaitKind:
    """A wait: least, usual, high in its own clock, and what it keeps out meanwhile.

    Figures are in ``unit`` (``h``, ``d`` or ``bd``). ``keeps_out`` is None when the wait holds
    only the next activity.
    """

    key: str
    name: str
    least: Decimal
    usual: Decimal
    high: Decimal
    unit: str
    clock: Clock
    why: str
    source: str
    keeps_out: Tread | None = None
    exempt: frozenset[str] = frozenset()
    after: tuple[str, ...] = ()
    """Templates whose finish starts the hold; links name the wait through their rule."""
    instead_of: str = ""
    """A wait this one replaces when somebody says so (another cement, a colder season)."""
    passages: bool = False
    """What leads through the zone is held as well, not only the zone."""


@dataclass(frozen=True, slots=True)
class Rule:
    """What goes before what, where, how, and why.

    Attributes
    ----------
    where
        ``zone`` (same zone, or one that encloses or is enclosed; the whole yard encloses all),
        ``item`` (same scope item), ``way-in`` (the follower's zone lies on the forerunner's way
        in from the street, its own zone not included), ``job`` (anywhere in the job).
    wait
        Key of a wait; ``hours`` (elapsed) or ``slots`` (quarter days of work) say a lag
        without one. At most one of the three.
    at_most_hours
        Elapsed hours between the two events that may not be exceeded.
    before_nth, after_nth
        Only the activity of that ordinal within its scope item takes part (first is 0); None
        takes all. Scalping after the first spray is not scalping after the second.
    expires
        Key of a wait after which the forerunner is stale: a follower that starts later needs
        it done anew (a locate ticket's life). Not a limit on the plan.
    unless
        A word that lifts the rule where the job says so: ``pump`` (hose reaches), ``crane``.
    gives_way
        It only puts something off: it stands where nothing that follows must wait longer for it.
    """

    id: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    where: str
    why: str
    source: str
    relation: Relation = Relation.FINISH_START
    wait: str = ""
    hours: Decimal | None = None
    slots: int | None = None
    at_most_hours: Decimal | None = None
    truth: int | None = None
    """Number of the truth it proves (1-62), for the truth checker."""
    also_truths: tuple[int, ...] = ()
    before_nth: int | None = None
    after_nth: int | None = None
    expires: str = ""
    unless: str = ""
    gives_way: bool = False

    @property
    def truths(self) -> tuple[int, ...]:
        """Every truth it proves."""
        return (*(() if self.truth is None else (self.truth,)), *self.also_truths)


@dataclass(frozen=True, slots=True)
class WeatherClass:
    """Limits of a class of work; None where it has none. Inches, hours, mph, Fahrenheit."""

    key: str
    name: str
    source: str
    rain_in_per_h: Decimal | None = None
    rain_in_per_day: Decimal | None = None
    dry_before_h: Decimal | None = None
    dry_after_h: Decimal | None = None
    wind_mph: Decimal | None = None
    air_min_f: Decimal | None = None
    air_max_f: Decimal | None = None
    needs_dry_ground: bool = False
    note: str = ""
    hot_wind_mph: Decimal | None = None
    """Lower wind limit that holds above ``hot_f``."""
    hot_f: Decimal | None = None
    soil_min_f: Decimal | None = None
    storm_in: Decimal | None = None
    """A storm of so many inches within ``storm_h`` hours after undoes the work."""
    storm_h: Decimal | None = None
    evaporation_max: Decimal | None = None
    """Pounds of water per square foot and hour off fresh concrete."""
    concrete_max_f: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Ask:
    """One question of an assembly: a quantity with its unit, or a choice of words."""

    key: str
    name: str
    unit: str
    default: str = ""
    required: bool = False
    choices: tuple[str, ...] = ()
    most: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """One activity of an assembly: which template, how much (a named formula), when it applies.

    ``quantity`` names an entry of ``takeoff.FORMULAS``; ``when`` is a list of
    ``ask = word`` pairs that must all hold; ``count`` repeats it with rising ordinals.
    """

    template: str
    quantity: str
    when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Assembly:
    """A thing the owner buys, the questions it asks and the activities it unfolds into."""

    key: str
    name: str
    group: str
    asks: tuple[Ask, ...]
    parts: tuple[Part, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A usual caution, whose authority it is, and whom it defers to."""

    key: str
    text: str
    authority: str


@dataclass(frozen=True, slots=True)
class NoticeRule:
    """Least legal notice before digging in a state, its earliest call and its life."""

    state: str
    name: str
    least: int
    unit: str
    """``bd`` (business days, request day not counted) or ``h`` (hours of business-day time)."""
    earliest: int | None
    earliest_unit: str
    life: int | None
    life_unit: str
    life_from: str
    """``request``, ``due`` or ``start``."""
    source: str
    cutoff: str = ""
    """Local time after which a request counts as the next business day, ``HH:MM``."""
    saturday: str = ""
    """When a Saturday request ripens, ``tuesday 11:59``; a day later if Monday is a holiday."""
    renew_bd: int = 3
    """Business days before expiry by which it is renewed."""
    hand_dig_in: int | None = None
    """Inches each side of a mark that are dug by hand only; None where not known."""
    water_least: int | None = None
    water_earliest: int | None = None
    """Least and earliest notice within water, in the same units."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Library:
    """Everything the trade knows, by key, with the version it was loaded as."""

    version: str
    templates: Mapping[str, Template]
    crews: Mapping[str, CrewKind]
    machines: Mapping[str, MachineKind]
    waits: Mapping[str, WaitKind]
    rules: tuple[Rule, ...]
    weather: Mapping[str, WeatherClass]
    assemblies: Mapping[str, Assembly]
    cautions: Mapping[str, Caution]
    notices: Mapping[str, NoticeRule]
    sources: Mapping[str, Source]
    dryout: Mapping[str, DryOut] = field(default_factory=dict)
    soils: Mapping[str, Soil] = field(default_factory=dict)
    trees: Mapping[str, BoxTree] = field(default_factory=dict)
    carriers: Mapping[str, Carrier] = field(default_factory=dict)
    loads: Mapping[str, SlabLoad] = field(default_factory=dict)
    placings: Mapping[str, Placing] = field(default_factory=dict)
    covers: Mapping[str, WireCover] = field(default_factory=dict)
    gates: tuple[Gate, ...] = ()
