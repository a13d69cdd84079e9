"""What to order for an item, what it leaves to cart away, and what its sizes ask for: told beside its amounts.

Plain arithmetic of the trade on usual sizes; the supplier's own figures, local code and the licensed trade
go before.
"""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from . import quantities as q
from .cautions import SPOIL_BACK, pit_asks, trench_for
from .ready_mix import oldest
from .units import FOOT, INCH

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from .library import Library
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
JOINTS_APART = (24, 36)
"""Control joints stand so many thicknesses of the slab apart (CSA A23.1 note and trade references)."""
JOINTS_DEEP = Decimal(4)
"""And are cut at least a quarter of it deep (the same)."""
POST_HOLE_IN = (Decimal(12), Decimal(36))
"""A usual hole for a post, wide and deep (common practice); local frost depth decides."""
CONDUIT = "pvc"
CABLE = "low-voltage"
CONDUIT_OUTSIDE = round(Decimal("1.315") * INCH)
"""Of 1-in conduit, tenths of a millimetre."""
BOXES: Mapping[str, str] = {
    "plant-box-24": "24-in",
    "plant-box-36": "36-in",
    "plant-box-48": "48-in",
}
"""Trees of the library by the work that plants them."""


class Order(NamedTuple):
    """A sentence's key, with the amounts it tells and their units, by placeholder; told exactly without one."""

    key: str
    amounts: Mapping[str, tuple[Decimal, str]]


class Asked(NamedTuple):
    """What an item was answered, in the unit of each ask, and the library it is measured by."""

    amounts: Mapping[str, Decimal]
    library: Library


def orders(measured: Iterable[Measured], asked: Asked) -> Iterator[Order]:
    """Give what the works of an item ask for, in their order, each sentence once."""
    sums: dict[str, Decimal] = defaultdict(Decimal)
    for one in measured:
        sums[one.template.key] += one.quantity.amount
    told: dict[str, Order] = {}
    for template, amount in sums.items():
        for order in _orders(template, amount, asked):
            told.setdefault(order.key, order)
    yield from told.values()


def _orders(template: str, amount: Decimal, asked: Asked) -> Iterator[Order]:
    if template in BOXES:
        yield _tree(template, asked)
    for told in _ORDERS.get(template, ()):
        yield from told(amount, asked)


def _flagstone(area: Decimal, _: Asked) -> Iterator[Order]:
    tons = area / q.flagstone_coverage(STONE_LB_FT3, STONE_IN)
    yield Order("order-flagstone", {"tons": (tons, "tons")})


def _slab(area: Decimal, asked: Asked) -> Iterator[Order]:
    volume = q.layer(area, asked.amounts.get("thickness", USUAL_SLAB_IN))
    yield Order("order-slab", {"yards": (q.concrete_order(volume), "")})


def _footings(yards: Decimal, _: Asked) -> Iterator[Order]:
    yield Order("order-footings", {"yards": (q.concrete_order(yards, FOOTING_WASTE), "")})


def _ready_mix(_: Decimal, __: Asked) -> Iterator[Order]:
    """Nobody agreed on a limit yet when an item is measured."""
    yield Order("order-time-limit", {"minutes": (Decimal(oldest().minutes), "")})


def _joints(_: Decimal, asked: Asked) -> Iterator[Order]:
    thick = asked.amounts.get("thickness", USUAL_SLAB_IN)
    least, most = (times * thick / 12 for times in JOINTS_APART)
    told = {"least": (least, "ft"), "most": (most, "ft"), "deep": (thick / JOINTS_DEEP, "in")}
    yield Order("cut-joints", told)
    if (apart := asked.amounts.get("joints", most)) > most:
        yield Order("cut-joints-far", {"apart": (apart, "ft")})


def _base(tons: Decimal, _: Asked) -> Iterator[Order]:
    yards = q.loose(tons * q.LB_A_TON / q.BASE_LB_FT3 / q.FT3_A_YARD)
    yield Order("order-base", {"tons": (tons, "tons"), "loose": (yards, "yd3")})


def _path(area: Decimal, _: Asked) -> Iterator[Order]:
    yield Order("order-path", {"tons": (q.path_tons(area, PATH_IN), "tons")})


def _blocks(face: Decimal, _: Asked) -> Iterator[Order]:
    yield Order("order-blocks", {"blocks": (Decimal(q.blocks(face)), "")})


def _dead_sod(area: Decimal, _: Asked) -> Iterator[Order]:
    yield Order("cart-turf", {"loose": (q.dead_sod(area), "yd3")})


def _spoil(feet: Decimal, _: Asked) -> Iterator[Order]:
    yards = q.trench_spoil(feet, TRENCH_WIDTH_IN, TRENCH_DEPTH_IN)
    back = Decimal(SPOIL_BACK) / FOOT
    yield Order("heap-spoil", {"bank": (yards, "yd3"), "back": (back, "ft")})


def _pit(_: Decimal, asked: Asked) -> Iterator[Order]:
    """A pit deep enough to hurt somebody; its depth is answered in inches."""
    deep = asked.amounts.get("dig", Decimal(0))
    for key in pit_asks(round(deep * INCH)):
        yield Order(key, {"deep": (deep / 12, "ft")})


def _conduit(_: Decimal, asked: Asked) -> Iterator[Order]:
    cover = asked.library.covers[CONDUIT].cover
    deep = Decimal(trench_for(cover, CONDUIT_OUTSIDE)) / INCH
    yield Order("bury-conduit", {"cover": (Decimal(cover) / INCH, "in"), "deep": (deep, "in")})


def _cable(_: Decimal, asked: Asked) -> Iterator[Order]:
    cover = Decimal(asked.library.covers[CABLE].cover) / INCH
    yield Order("bury-cable", {"cover": (cover, "in")})


def _posts(posts: Decimal, _: Asked) -> Iterator[Order]:
    wide, deep = POST_HOLE_IN
    yards = q.concrete_order(posts * q.pier(wide, deep), FOOTING_WASTE)
    yield Order("order-posts", {"wide": (wide, "in"), "deep": (deep, "in"), "yards": (yards, "")})


def _tree(template: str, asked: Asked) -> Order:
    """One sentence a size: its lift weight, its hole, the way it needs."""
    tree = asked.library.trees[BOXES[template]]
    low, high = tree.weight_lb
    told = {"low": (low, "lb"), "high": (high, "lb"), "hole": (tree.hole_ft, "ft")}
    if tree.passage is not None:
        told["way"] = (Decimal(tree.passage) / INCH, "in")
    return Order(f"lift-{template}", told)


_ORDERS: Mapping[str, tuple[Callable[[Decimal, Asked], Iterator[Order]], ...]] = {
    "set-stone": (_flagstone,),
    "pour-slab": (_slab, _ready_mix),
    "pour-footings": (_footings, _ready_mix),
    "saw-joints": (_joints,),
    "spread-base": (_base,),
    "dg-path": (_path,),
    "lay-block-wall": (_blocks,),
    "strip-sod": (_dead_sod,),
    "strip-by-loader": (_dead_sod,),
    "trench": (_spoil,),
    "dig-out": (_pit,),
    "lay-conduit": (_conduit,),
    "lay-light-cable": (_cable,),
    "set-posts": (_posts,),
}
