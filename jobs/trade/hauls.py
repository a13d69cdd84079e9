"""How much of a passage a haul takes: trips it needs over trips the way holds."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from typing import TYPE_CHECKING

from .concrete import POURED
from .durations import SLOTS_A_DAY
from .ways_in import UNMEASURED_FT

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from .access import Route
    from .facts import Carrier
    from .scope import PassageIn
    from .work import Quantity

FT3_A_UNIT: Mapping[str, Decimal] = {
    "haul-soil": Decimal(27),
    "spread-mulch": Decimal(27),
    "spread-base": Decimal("18.5"),
    "gravel-drain": Decimal("1.5"),
    "strip-sod": Decimal("0.22"),
    "strip-by-loader": Decimal("0.22"),
    "break-haul-slab": Decimal("0.5"),
    "break-haul-slab-machine": Decimal("0.5"),
    "dg-path": Decimal("0.31"),
    "lay-pavers": Decimal("0.2"),
    "dry-fit-stone": Decimal("0.125"),
    "stack-wall": Decimal(1),
    "lay-block-wall": Decimal("0.67"),
    "face-stone": Decimal("0.33"),
    "lay-sod": Decimal("0.1"),
    "pour-slab": Decimal("0.33"),
    "pour-footings": Decimal(27),
}
"""Loose cubic feet carried per unit of a work: 27 a loose yard; 2,000 lb of stone at 108 lb/ft3 loose;
dead sod 2 in thick and loosened by 30 %; a 4-in slab broken, half as much again; path stone 3 in
loose; pavers 2 3/8 in; flagstone 1.5 in; and so on (geometry of the layer, common practice)."""
HOURS_A_SLOT = 2
FALLBACK = "wheelbarrow"
FULL = 100
BARROW_SLOPE = 8
"""Percent of slope above which a barrow goes half full (common practice)."""


def shares(
    template: str,
    quantity: Quantity,
    days: Decimal,
    route: Route,
    carrier: Carrier,
) -> dict[str, int]:
    """Return the percentage of each slot a work takes of each passage it hauls through.

    Parameters
    ----------
    days
        Crew days the work takes; its loads are spread evenly over them.
    carrier
        What carries; its load and speeds say how many trips, and how long each blocks the way.

    Notes
    -----
    A way in is single file: a trip out and back blocks it while it is crossed. A barrow on 50 ft is
    there for 50/130 + 50/200 = 0.63 minutes, so 100 worked minutes of a slot hold 157 trips.
    """
    per_unit = FT3_A_UNIT.get(template)
    if per_unit is None:
        return {}
    slots = max(Decimal(1), days * SLOTS_A_DAY)
    load = (template in POURED and carrier.concrete_ft3) or sum(carrier.load_ft3) / Decimal(2)
    needed = quantity.amount * per_unit / load / slots
    if carrier.key == FALLBACK and any(p.slope_percent > BARROW_SLOPE for p in route.passages):
        needed *= 2
    return {p.uid: _share(needed, p, carrier) for p in route.passages}


def carrier_of(kinds: Iterable[str], carriers: Mapping[str, Carrier]) -> Carrier | None:
    """Return the first of the machines used that carries, else the barrow every crew has."""
    for kind in kinds:
        if kind in carriers:
            return carriers[kind]
    return carriers.get(FALLBACK)


def trips_an_hour(feet: Decimal, carrier: Carrier, *, concrete: bool = False) -> Decimal:
    """Return trips an hour over a one-way distance: a barrow over 50 ft makes 16.0.

    Worked minutes of the hour over minutes a trip: load and dump, out, and back. Concrete is filled at the
    chute and tipped in one go, which takes less time at both ends: 23.4 trips.
    """
    ends = (concrete and carrier.concrete_ends_min) or carrier.ends_min
    minutes = ends + feet / carrier.out_ft_min + feet / carrier.back_ft_min
    return (carrier.minutes_per_hour or Decimal(50)) / minutes


def _share(needed: Decimal, passage: PassageIn, carrier: Carrier) -> int:
    feet = Decimal(passage.length_ft or UNMEASURED_FT)
    blocked = feet / carrier.out_ft_min + feet / carrier.back_ft_min
    held = (carrier.minutes_per_hour or Decimal(50)) * HOURS_A_SLOT / blocked
    percent = (FULL * needed / held).to_integral_value(ROUND_CEILING)
    return max(1, min(FULL, int(percent)))
