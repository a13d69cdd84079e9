"""What to order for an item, and what it leaves to cart away or to heap: told beside its amounts.

Plain arithmetic of the trade on usual sizes; the supplier's own figures go before.
"""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from . import quantities as q

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from .takeoff import Measured

STONE_LB_FT3, STONE_IN = Decimal(160), Decimal("1.5")
"""Flagstone as it is sold for patios (common practice; ask the stone yard for its own coverage)."""
TRENCH_WIDTH_IN, TRENCH_DEPTH_IN = Decimal(6), Decimal(18)
"""A usual trench for pipe (common practice)."""
PATH_IN = Decimal(3)
"""Crushed stone of a path over its base (common practice)."""
FOOTING_WASTE = Decimal("0.05")
"""Waste of concrete in formed footings (common practice)."""
USUAL_SLAB_IN = Decimal(4)


class Order(NamedTuple):
    """A sentence's key, with the amounts it tells and their units, by placeholder; told exactly without one."""

    key: str
    amounts: Mapping[str, tuple[Decimal, str]]


def orders(measured: Iterable[Measured], asked: Mapping[str, Decimal]) -> Iterator[Order]:
    """Give what the works of an item ask for, in their order.

    Parameters
    ----------
    asked
        Amounts answered for the item, in the unit of each ask.
    """
    sums: dict[str, Decimal] = defaultdict(Decimal)
    for one in measured:
        sums[one.template.key] += one.quantity.amount
    for template, amount in sums.items():
        if template in _ORDERS:
            yield _ORDERS[template](amount, asked)


def _flagstone(area: Decimal, _: Mapping[str, Decimal]) -> Order:
    tons = area / q.flagstone_coverage(STONE_LB_FT3, STONE_IN)
    return Order("order-flagstone", {"tons": (tons, "tons")})


def _slab(area: Decimal, asked: Mapping[str, Decimal]) -> Order:
    volume = q.layer(area, asked.get("thickness", USUAL_SLAB_IN))
    return Order("order-slab", {"yards": (q.concrete_order(volume), "")})


def _footings(yards: Decimal, _: Mapping[str, Decimal]) -> Order:
    return Order("order-footings", {"yards": (q.concrete_order(yards, FOOTING_WASTE), "")})


def _base(tons: Decimal, _: Mapping[str, Decimal]) -> Order:
    yards = q.loose(tons * q.LB_A_TON / q.BASE_LB_FT3 / q.FT3_A_YARD)
    return Order("order-base", {"tons": (tons, "tons"), "loose": (yards, "yd3")})


def _path(area: Decimal, _: Mapping[str, Decimal]) -> Order:
    return Order("order-path", {"tons": (q.path_tons(area, PATH_IN), "tons")})


def _blocks(face: Decimal, _: Mapping[str, Decimal]) -> Order:
    return Order("order-blocks", {"blocks": (Decimal(q.blocks(face)), "")})


def _dead_sod(area: Decimal, _: Mapping[str, Decimal]) -> Order:
    return Order("cart-turf", {"loose": (q.dead_sod(area), "yd3")})


def _spoil(feet: Decimal, _: Mapping[str, Decimal]) -> Order:
    yards = q.trench_spoil(feet, TRENCH_WIDTH_IN, TRENCH_DEPTH_IN)
    return Order("heap-spoil", {"bank": (yards, "yd3")})


_ORDERS: Mapping[str, Callable[[Decimal, Mapping[str, Decimal]], Order]] = {
    "set-stone": _flagstone,
    "pour-slab": _slab,
    "pour-footings": _footings,
    "spread-base": _base,
    "dg-path": _path,
    "lay-block-wall": _blocks,
    "strip-sod": _dead_sod,
    "strip-by-loader": _dead_sod,
    "trench": _spoil,
}
