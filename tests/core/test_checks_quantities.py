"""Figures from outside about how much it takes: arithmetic of stated rules, factors of common practice."""

from __future__ import annotations

from decimal import Decimal

import pytest

from jobs.trade import quantities as q
from jobs.trade.durations import spread_of
from jobs.trade.soil import to_bank, to_loose, trucks
from jobs.trade.work import Quantity
from tests.yards import library

D = Decimal


def near(amount: Decimal | float, expected: str, within: str) -> bool:
    """Return True if a figure is as expected, within some tolerance."""
    return abs(D(str(amount)) - D(expected)) <= D(within)


def test_flagstone_a_ton() -> None:
    """160 lb/ft3 by 1.5 in covers 100 ft2, 165 by 2 in 72.7. Arithmetic: 2,000 / (w t / 12)."""
    assert near(q.flagstone_coverage(D(160), D("1.5")), "100", "0.1")
    assert near(q.flagstone_coverage(D(165), D(2)), "72.7", "0.1")


def test_inch_flagstone_lies_in_the_trade_s_tables() -> None:
    """Trade tables give 100 to 120 ft2 a ton for 1 in irregular, more for thin even stone.

    Source: several trade tables (common practice). At 160 lb/ft3, 1.25 to 1.5 in cover just that.
    """
    assert q.flagstone_coverage(D(160), D("1.25")) == 120
    assert q.flagstone_coverage(D(160), D("1.5")) == 100


def test_slab_volume_and_order() -> None:
    """420 ft2 by 4 in is 5.185 yd3; with 10 % and quarter yards up 5.75 (common practice)."""
    volume = q.layer(D(420), D(4))
    assert near(volume, "5.185", "0.005")
    assert q.concrete_order(volume) == D("5.75")


def test_a_round_pier() -> None:
    """12 in wide, 36 in deep: 0.0873 yd3 (arithmetic)."""
    assert near(q.pier(D(12), D(36)), "0.0873", "0.0005")


@pytest.mark.parametrize(
    ("yards", "load", "loads"), [(8, 4, 54), (8, 3, 72), (1, 2, 14), (1, 3, 9), (1, 6, 5)]
)
def test_barrow_loads(yards: int, load: int, loads: int) -> None:
    """8 yd3 is over 50 loads of 4 ft3 (common practice), 72 of 3; a yard 14, 9 or 5 (trade references)."""
    assert q.loads(D(yards), D(load)) == loads


def test_base_by_volume_and_weight() -> None:
    """420 ft2 by 4 in: 5.19 yd3 compacted, 6.48 loose, 9.45 tons at 135 lb/ft3 (common practice)."""
    assert near(q.layer(D(420), D(4)), "5.19", "0.01")
    assert near(q.loose(q.layer(D(420), D(4))), "6.48", "0.01")
    assert near(q.base_tons(D(420), D(4)), "9.45", "0.05")


def test_base_by_barrow() -> None:
    """18 tons, three people: 0.75 d at 24 a day to 1.5 d at 12 (common practice: 1 ton a person-hour)."""
    spread = spread_of(Quantity(D(18), "tons"), library().templates["spread-base"].rate)
    assert spread == (D("0.75"), D(1), D("1.5"))


def test_mulch() -> None:
    """1,000 ft2 by 3 in is 9.26 yd3; one yard covers 108 ft2 (arithmetic)."""
    assert near(q.layer(D(1000), D(3)), "9.26", "0.01")
    assert q.layer(D(108), D(3)) == 1


def test_a_path_of_crushed_stone() -> None:
    """500 ft2 by 3 in: 4.63 yd3, 5.79 loose, 8.1 tons (common practice)."""
    compacted = q.layer(D(500), D(3))
    assert near(compacted, "4.63", "0.01")
    assert near(q.loose(compacted), "5.79", "0.01")
    assert near(q.path_tons(D(500), D(3)), "8.1", "0.1")


def test_a_rounded_mound() -> None:
    """20 by 10 by 2 ft: 157.1 ft3, 5.82 yd3 (paraboloid)."""
    volume = q.mound(D(10), D(5), D(2))
    assert near(volume * 27, "157.1", "0.1")
    assert near(volume, "5.82", "0.01")


def test_swell_fills_trucks() -> None:
    """1,000 bank yd3 of dense clay at 30 %: 1,300 loose, 186 loads of 7. Published estimating example."""
    loose = to_loose(D(1000), D("0.30"))
    assert (loose, trucks(loose, D(7))) == (1300, 186)


def test_shrink_wants_more_from_the_bank() -> None:
    """500 compacted at 95 % are 526 in the bank. Source: same example."""
    assert near(to_bank(D(500), D("0.05")), "526", "0.5")


def test_plants_on_a_triangle() -> None:
    """200 ft2 at 12 in: 230.9, up to 231 (arithmetic)."""
    assert q.plants_on_grid(D(200), D(12)) == 231


def test_blocks() -> None:
    """100 face ft2: 112.5 blocks, 119 with 5 % (arithmetic)."""
    assert q.grout(D(100)) * 100 == D("112.5")
    assert q.blocks(D(100)) == 119


def test_every_pace_is_in_order_and_above_nothing() -> None:
    """Low, typical, high of every template and other pace (rate table)."""
    rates = [t.rate for t in library().templates.values()]
    rates += [pace.rate for t in library().templates.values() for pace in t.paces]
    assert [rate for rate in rates if not 0 < rate[0] <= rate[1] <= rate[2]] == []


def test_concrete_by_barrow_is_heavy() -> None:
    """4 ft3 of concrete is 600 lb at 150 lb/ft3; a yard 4,050 (common practice)."""
    assert 4 * q.CONCRETE_LB_FT3 == 600
    assert q.FT3_A_YARD * q.CONCRETE_LB_FT3 == 4050


def test_dead_sod_and_trench_spoil() -> None:
    """2,000 ft2 of dead sod 16.05 loose yd3; a trench of 100 ft, 6 by 18 in, 2.78 bank yd3."""
    assert near(q.dead_sod(D(2000)), "16.05", "0.01")
    assert near(q.trench_spoil(D(100), D(6), D(18)), "2.78", "0.01")


def test_grout_for_all_cells() -> None:
    """One yard a hundred blocks: 100 face ft2 take 1.125 (common practice)."""
    assert q.grout(D(100)) == D("1.125")
