"""What to order for an item, by the usual arithmetic of the trade."""

from __future__ import annotations

from decimal import Decimal

import pytest

from jobs.trade.orders import Asked, orders
from jobs.trade.ready_mix import Age, oldest
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
        for order in orders(measure_item(item, zone, library(), None), Asked(asked, library()))
    }


def test_a_thick_slab_of_several_pours_is_ordered_as_one() -> None:
    """2,000 ft2 by 6 in is 37.04 yd3, with a tenth 40.74, up to 40.75; base 45 tons, 30.86 loose yd3."""
    assert told("concrete-slab", area="2000", thickness="6") == {
        "order-base": {"tons": D(45), "loose": D("30.86")},
        "order-slab": {"yards": D("40.75")},
        "order-time-limit": {"minutes": D(90)},
        "cut-joints": {"least": D(12), "most": D(18), "deep": D("1.5")},
    }


def test_joints_of_a_four_inch_slab() -> None:
    """8 to 12 ft apart, an inch deep at least. Source: CSA A23.1 note and trade references (24 to 36
    thicknesses, a quarter of it)."""
    found = told("concrete-slab", area="420")
    assert found["cut-joints"] == {"least": D(8), "most": D(12), "deep": D(1)}
    assert "cut-joints-far" not in found


def test_joints_farther_apart_than_usual_are_told() -> None:
    """13 ft at 4 in are, 12 ft are not."""
    assert told("concrete-slab", area="420", joints="13")["cut-joints-far"] == {"apart": D(13)}
    assert "cut-joints-far" not in told("concrete-slab", area="420", joints="12")


def test_a_load_has_the_age_that_was_agreed_or_the_standard_s() -> None:
    """Asked for where nobody agreed one, 90 minutes until then; an edition to 2020 sets 90 or 300 turns.

    Source: ASTM C94/C94M-21, 6.1.10 and 12.9; C94 to 2020 (report on the change).
    """
    assert oldest() == Age(90, turns=None, ask=True)
    assert oldest(edition=2021) == Age(90, turns=None, ask=True)
    assert oldest(edition=2020) == Age(90, turns=300, ask=False)
    assert oldest(agreed=120, edition=2016) == Age(120)


def test_wire_is_buried_deeper_than_its_cover() -> None:
    """1-in PVC, 1.315 in outside: 18 in of cover, 19.3 deep; 6 in over 30 V and less. NEC 300.5, note 1."""
    conduit = {"cover": D(18), "deep": D("19.31")}
    assert told("power", wire="80")["bury-conduit"] == conduit
    assert told("lights", count="12", cable="200")["bury-cable"] == {"cover": D(6)}


@pytest.mark.parametrize(
    ("inches", "keys"),
    [("47", []), ("48", ["pit-way-out"]), ("60", ["pit-way-out", "pit-protected"])],
)
def test_a_deep_basin_asks_for_a_way_out_and_for_its_sides(inches: str, keys: list[str]) -> None:
    """From 4 ft a way out within 25 ft, from 5 ft protection. 29 CFR 1926.651(c)(2), .652(a)(1)."""
    found = told("water-feature", area="60", dig=inches)
    assert [key for key in found if key.startswith("pit")] == keys


def test_a_boxed_tree_says_what_it_weighs_and_the_way_it_needs() -> None:
    """36-in box: 1,440 to 1,710 lb, 48 in of way (common practice)."""
    assert told("trees", **{"box-36": "2"})["lift-plant-box-36"] == {
        "low": D(1440), "high": D(1710), "hole": D(6), "way": D(48),
    }  # fmt: skip


@pytest.mark.parametrize(("feet", "blocks"), [("24", 62), ("100", 256)])
def test_a_seat_wall_asks_for_blocks_and_its_footing(feet: str, blocks: int) -> None:
    """18 in high and a course of 8 below: 52 and 216.7 ft2 at 1.125 a ft2, a twentieth; footing 16 by 12 in, too."""
    found = told("seat-wall", length=feet, height="18")
    assert found["order-blocks"] == {"blocks": D(blocks)}
    assert found["order-footings"] == {"yards": D("1.25") if feet == "24" else D("5.25")}


def test_a_path_asks_for_its_stone() -> None:
    """500 ft2 by 3 in: 4.63 yd3, a quarter more loose, at 1.4 tons a yard 8.10 tons."""
    assert told("stone-path", area="500")["order-path"] == {"tons": D("8.10")}


def test_posts_ask_for_their_concrete() -> None:
    """12 in wide, 36 in deep is 0.0873 yd3 a post; six with a twentieth are 0.55, up to 0.75 (arithmetic)."""
    found = told("shade-structure", area="200", posts="6")["order-posts"]
    assert found == {"wide": D(12), "deep": D(36), "yards": D("0.75")}
