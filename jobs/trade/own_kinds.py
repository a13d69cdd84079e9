"""Which figures of weather limits, machines, carrying, rules, notices and drying may be one's own, and how far.

One table a section. A figure that is less careful than ours needs somebody who stands for it, by name and
reason; one below what the law or a published least asks for is refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


class Careful(StrEnum):
    """Which way of changing a figure is the more careful one."""

    MORE = "more"
    LESS = "less"
    EITHER = "either"


class Kind(StrEnum):
    """What a figure is written as."""

    NUMBER = "number"
    WHOLE = "whole"
    LENGTH = "length"
    THREE = "three"


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a row of the library.

    Attributes
    ----------
    name
        Field of the row; for a dry-out band, its rain in inches.
    span
        Least and most that can be true at all, in the figure's own unit (lengths in inches).
    firm
        Why it may not be less careful than ours, whoever stands for it; empty where somebody may.
    """

    name: str
    words: str
    unit: str
    span: tuple[Decimal, Decimal]
    careful: Careful = Careful.EITHER
    kind: Kind = Kind.NUMBER
    firm: str = ""

    def looser(self, ours: Decimal | None, own: Decimal) -> bool:
        """Return True if one's own figure is less careful than ours."""
        if ours is None or self.careful is Careful.EITHER:
            return False
        return own < ours if self.careful is Careful.MORE else own > ours


def _to(least: str, most: str) -> tuple[Decimal, Decimal]:
    return Decimal(least), Decimal(most)


MORE, LESS = Careful.MORE, Careful.LESS
LAW = "the state's law asks for it; yours may only be stricter"
PUBLISHED = (
    "it is a published limit of concrete; what an engineer allows is recorded with the one pour"
)

LIMITS = (
    Figure("rain_in_per_h", "Rain while it is done, at most", "in an hour", _to("0", "2"), LESS),
    Figure("rain_in_per_day", "Rain that day, at most", "in", _to("0", "6"), LESS),
    Figure("dry_before_h", "Dry before it, at least", "hours", _to("0", "240"), MORE),
    Figure("dry_after_h", "Dry after it, at least", "hours", _to("0", "240"), MORE),
    Figure("wind_mph", "Wind, at most", "mph", _to("1", "35"), LESS),
    Figure("air_min_f", "Not colder than", "°F", _to("-20", "80"), MORE),
    Figure("air_max_f", "Not hotter than", "°F", _to("40", "130"), LESS),
)
"""Limits that any class, and any one work, may have."""
MORE_LIMITS = (
    Figure("hot_wind_mph", "Wind where it is hot, at most", "mph", _to("1", "35"), LESS),
    Figure("hot_f", "Hot from", "°F", _to("60", "120"), LESS),
    Figure("soil_min_f", "Soil no colder than", "°F", _to("32", "90"), MORE),
    Figure("storm_in", "Storm after it that undoes it, from", "in", _to("0.1", "6"), LESS),
    Figure(
        "evaporation_max", "Water off fresh concrete, at most", "lb/ft²/h", _to("0.05", "1"), LESS
    ),
)
"""Limits of the classes that have them."""
MACHINE = (
    Figure("passage", "Clear way it needs", "", _to("0", "240"), kind=Kind.LENGTH),
    Figure("headroom", "Clear height it needs", "", _to("0", "240"), kind=Kind.LENGTH),
    Figure("weight_lb", "Weight, loaded", "lb", _to("1", "120000"), kind=Kind.WHOLE),
)
CARRIER = (
    Figure("load_ft3", "Carries at a time", "ft³", _to("0.5", "60")),
    Figure("load_lb", "Carries at a time", "lb", _to("50", "20000")),
    Figure("out_ft_min", "Goes out at", "ft a minute", _to("20", "1500")),
    Figure("back_ft_min", "Comes back at", "ft a minute", _to("20", "1500")),
    Figure("ends_min", "Loading and tipping take", "minutes", _to("0.1", "60")),
    Figure("passage", "Clear way it needs", "", _to("0", "240"), kind=Kind.LENGTH),
)
RULE = (
    Figure("hours", "Waits at least", "hours", _to("0", "8760"), MORE),
    Figure(
        "slots",
        "Work that must be done first",
        "quarter days",
        _to("0", "80"),
        MORE,
        kind=Kind.WHOLE,
    ),
    Figure("at_most_hours", "Follows within", "hours", _to("1", "8760"), LESS),
)
NOTICE = (
    Figure("least", "Call ahead, at least", "", _to("0", "60"), MORE, kind=Kind.WHOLE, firm=LAW),
    Figure("earliest", "Call ahead, at most", "", _to("1", "120"), LESS, kind=Kind.WHOLE, firm=LAW),
    Figure("life", "Marks hold", "", _to("1", "180"), LESS, kind=Kind.WHOLE, firm=LAW),
    Figure("renew_bd", "Call again before they run out", "business days", _to("0", "20"), MORE, kind=Kind.WHOLE),
    Figure("hand_dig_in", "Dug by hand each side of a mark", "in", _to("6", "120"), MORE, kind=Kind.WHOLE, firm=LAW),
    Figure("water_least", "Call ahead near water, at least", "", _to("0", "90"), MORE, kind=Kind.WHOLE, firm=LAW),
    Figure("water_earliest", "Call ahead near water, at most", "", _to("1", "180"), LESS, kind=Kind.WHOLE, firm=LAW),
)  # fmt: skip
DRYING = (
    Figure("cool_factor", "Cool half of the year, times", "", _to("1", "6")),
    Figure("shade_days", "Under turf or in shade, more", "days", _to("0", "10")),
    Figure("covered_factor", "Under a sheet, times", "", _to("0.1", "1")),
)
UNIT_OF: Mapping[str, str] = {
    "least": "unit",
    "earliest": "earliest_unit",
    "life": "life_unit",
    "water_least": "unit",
    "water_earliest": "earliest_unit",
}
"""Which field of a notice says what a figure of it is counted in."""
COUNTED: Mapping[str, str] = {"bd": "business days", "d": "days", "h": "hours"}
FIRM_LIMITS: Mapping[str, frozenset[str]] = {
    "W4": frozenset({"dry_after_h", "air_min_f", "evaporation_max"}),
}
"""Limits of a class that are published leasts (UFGS 03301A, ACI 306R, ACI 305R)."""
LABELLED = frozenset({"W3"})
"""Classes whose limits stand on a product's label."""


def band(rain: Decimal) -> Figure:
    """Return the figure of a dry-out band: least, usual and most days after so much rain."""
    words = f"After {rain.normalize():f} in of rain and more"
    return Figure(f"{rain.normalize():f}", words, "days", _to("0", "30"), kind=Kind.THREE)
