"""What to order for an item, by the usual arithmetic of the trade."""

from __future__ import annotations

from decimal import Decimal

import pytest

from jobs.trade.orders import orders
from jobs.trade.scope import Item, ZoneIn
from jobs.trade.takeoff import check_answers, measure_item
from tests.yards import library

D = Decimal


def told(assembly: str, **answers: str) -> dict[str, dict[str, Decimal]]:
    """Return the amounts of each order of an item, to the hundredth."""
    item, zone = Item("item", assembly, "bed", answers), ZoneIn("bed", "Bed")
    asked = check_answers(library().assemblies[assembly], answers, zone).amounts
    return {
        order.key: {name: round(amount, 2) for name, (amount, _) in order.amounts.items()}
        for order in orders(measure_item(item, zone, library()), asked)
    }


def test_a_thick_slab_of_several_pours_is_ordered_as_one() -> None:
    """2,000 ft2 by 6 in is 37.04 yd3, with a tenth 40.74, up to 40.75; base 45 tons, 30.86 loose yd3."""
    assert told("concrete-slab", area="2000", thickness="6") == {
        "order-base": {"tons": D(45), "loose": D("30.86")},
        "order-slab": {"yards": D("40.75")},
    }


@pytest.mark.parametrize(("feet", "blocks"), [("24", 62), ("100", 256)])
def test_a_seat_wall_asks_for_blocks_and_its_footing(feet: str, blocks: int) -> None:
    """18 in high and a course of 8 below: 52 and 216.7 ft2 at 1.125 a ft2, a twentieth; footing 16 by 12 in, too."""
    found = told("seat-wall", length=feet, height="18")
    assert found["order-blocks"] == {"blocks": D(blocks)}
    assert found["order-footings"] == {"yards": D("1.25") if feet == "24" else D("5.25")}


def test_a_path_asks_for_its_stone() -> None:
    """500 ft2 by 3 in: 4.63 yd3, a quarter more loose, at 1.4 tons a yard 8.10 tons."""
    assert told("stone-path", area="500")["order-path"] == {"tons": D("8.10")}
