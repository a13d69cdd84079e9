"""Tables of the trade that plans look things up in: soils, trees, carriers, loads, wire cover."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError

if TYPE_CHECKING:
    from decimal import Decimal

    from .work import Tread

Range = tuple["Decimal", "Decimal"]
"""Least and most of a figure."""


class DryBand(NamedTuple):
    """Rain from ``rain_in`` inches up, and the days the ground then needs: least, usual, high."""

    rain_in: Decimal
    least: Decimal
    usual: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class DryOut:
    """Days after rain before bare soil of a texture can be worked, in the warm season.

    Bands rise; the last one whose ``rain_in`` is reached holds. Cool season multiplies by
    ``cool_factor``, ground under turf or in shade adds ``shade_days``, under a sheet multiplies
    by ``covered_factor``.
    """

    texture: str
    bands: tuple[DryBand, ...]
    source: str
    cool_factor: Decimal
    shade_days: Decimal
    covered_factor: Decimal

    def __post_init__(self) -> None:
        """Refuse a table in which more rain dries sooner."""
        for lower, upper in zip(self.bands, self.bands[1:], strict=False):
            if any(a > b for a, b in zip(lower, upper, strict=True)):
                raise TradeError(
                    f"{upper.rain_in} in of rain on {self.texture} dries sooner than less rain",
                    remedy="let rain and days rise from band to band",
                )

    def after(self, rain_in: Decimal) -> DryBand | None:
        """Return the band a rain falls into, None if it is too little to matter."""
        reached = [band for band in self.bands if rain_in >= band.rain_in]
        return reached[-1] if reached else None


@dataclass(frozen=True, slots=True)
class Soil:
    """Weight in the bank, swell from bank to loose, shrink from bank to compacted.

    Fractions of the bank volume: a swell of 0.25 makes 1 bank yard 1.25 loose ones. ``use`` is
    the swell to reckon with.
    """

    key: str
    name: str
    texture: str
    lb_ft3: Range
    swell: Range
    swell_use: Decimal
    shrink: Range
    source: str


@dataclass(frozen=True, slots=True)
class BoxTree:
    """A boxed tree: lift weight in pounds, box volume, hole, and the passage it needs."""

    key: str
    name: str
    weight_lb: Range
    box_ft3: Range
    hole_ft: Decimal
    moved_by: str
    passage: int | None
    """Tenths of a millimetre; None goes over the house."""
    source: str


@dataclass(frozen=True, slots=True)
class Carrier:
    """Something that carries by trips: load, speeds and the minutes at both ends."""

    key: str
    name: str
    load_ft3: Range
    load_lb: Range
    out_ft_min: Decimal
    back_ft_min: Decimal
    ends_min: Decimal
    passage: int
    source: str
    concrete_ft3: Decimal | None = None
    concrete_ends_min: Decimal | None = None
    minutes_per_hour: Decimal | None = None
    """Minutes really worked in an hour."""


@dataclass(frozen=True, slots=True)
class SlabLoad:
    """What may go on a new 4-in slab on a base, and not before which day and strength."""

    key: str
    name: str
    tread: Tread
    hours: Decimal | None
    """Elapsed hours from the pour; None is never."""
    strength: Decimal | None
    """Share of the 28-day strength that must be reached too."""
    source: str
    cool_hours: Decimal | None = None
    """Hours instead when it stays below 50 F."""
    max_lb: int | None = None
    """Heaviest that the figures hold for."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Placing:
    """A way of bringing concrete to the form: pace in cubic yards an hour, people, needs."""

    key: str
    name: str
    pace: tuple[Decimal, Decimal, Decimal]
    per_person: bool
    people: int
    needs: str
    source: str
    passage: int = 0
    reach_ft: int | None = None
    """Farthest it brings concrete, or farthest that its pace holds for."""


@dataclass(frozen=True, slots=True)
class WireCover:
    """Least depth of soil over a buried wire, by how it is run."""

    key: str
    name: str
    cover: int
    """Tenths of a millimetre."""
    source: str


@dataclass(frozen=True, slots=True)
class Gate:
    """What gets through a passage of at least ``width`` (tenths of a millimetre), in words."""

    width: int
    passes: str
    source: str
