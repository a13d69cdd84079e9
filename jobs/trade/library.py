"""The trade library as a whole, and what it knows of weather, cautions, legal notice and sources.

Built by ``build_library`` from plain mappings (one per file), never from paths: reading the TOML
files of ``fixtures/trade`` is a service's work.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

    from .assemblies import Assembly
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
    from .precedence import Rule, WaitKind
    from .templates import CrewKind, MachineKind, Template


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
