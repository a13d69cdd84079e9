"""Gates where work can hurt somebody. The competent person, the label and local code overrule them all."""

from __future__ import annotations

from datetime import datetime

import pytest

from jobs.trade import cautions as c
from jobs.trade.units import FOOT, INCH
from tests.yards import library


def test_a_trench_is_protected_from_five_feet() -> None:
    """4 ft 11 in: judged; 5 ft: protected. Source: 29 CFR 1926.652(a)(1)."""
    assert c.trench(4 * FOOT + 11 * INCH) is c.Trench.JUDGED
    assert c.trench(5 * FOOT) is c.Trench.PROTECTED


def test_a_way_out_within_twenty_five_feet() -> None:
    """4 ft deep, 30 ft from the ladder. Source: 29 CFR 1926.651(c)(2) (summary)."""
    assert c.way_out_missing(4 * FOOT, 30 * FOOT)
    assert not c.way_out_missing(4 * FOOT, 25 * FOOT)
    assert not c.way_out_missing(3 * FOOT, 30 * FOOT)


def test_spoil_two_feet_back() -> None:
    """1 ft flagged, 2 ft not. Source: 29 CFR 1926.651(j)(2) (summary)."""
    assert (c.spoil_too_near(FOOT), c.spoil_too_near(2 * FOOT)) == (True, False)


def test_silica_from_a_hand_saw() -> None:
    """Outdoors with water: 3 h none, 5 h APF 10. Source: 29 CFR 1926.1153 Table 1 (8 CCR 1532.3)."""
    assert (c.hand_saw(3), c.hand_saw(5)) == (c.Respirator.NONE, c.Respirator.APF_10)


def test_silica_from_a_walk_behind_saw() -> None:
    """Outdoors with water: none either way. Source: 29 CFR 1926.1153 Table 1 (iv)."""
    assert (c.walk_behind_saw(3), c.walk_behind_saw(5)) == (c.Respirator.NONE, c.Respirator.NONE)


@pytest.mark.parametrize(
    ("air", "humidity", "index"),
    [
        (90, 70, 105.9),
        (96, 65, 121.0),
        (95, 50, 105.2),
        (100, 10, 94.1),
        (82, 90, 92.0),
        (75, 50, 74.8),
    ],
    ids=["humid", "the agency's example", "hot", "dry adjustment", "damp adjustment", "simple"],
)
def test_heat_index(air: float, humidity: float, index: float) -> None:
    """Source: equation of the National Weather Service; 121 at 96 F and 65 % is OSHA's example."""
    assert c.heat_index(air, humidity) == pytest.approx(index, abs=0.1)


@pytest.mark.parametrize(
    ("index", "band"),
    [
        (90, c.Heat.LOWER),
        (91, c.Heat.MODERATE),
        (103, c.Heat.HIGH),
        (116, c.Heat.VERY_HIGH),
    ],
)
def test_heat_bands(index: float, band: c.Heat) -> None:
    """The shared edges 91 and 103 go up (our reading). Source: OSHA heat guidance."""
    assert c.heat_band(index) is band


def test_california_s_heat() -> None:
    """81 F: shade up; 95 F: high-heat steps. Source: 8 CCR 3395(d), (e)."""
    assert (c.shade_up(80), c.shade_up(81)) == (False, True)
    assert (c.high_heat_steps(94), c.high_heat_steps(95)) == (False, True)


def test_half_an_hour_after_the_last_thunder() -> None:
    """14:10, so 14:40. Source: National Weather Service."""
    last = datetime(2026, 6, 16, 14, 10)  # noqa: DTZ001 - the local clock on site
    assert c.resume_after(last) == datetime(2026, 6, 16, 14, 40)  # noqa: DTZ001 - the same


@pytest.mark.parametrize(
    ("how", "inches"),
    [("direct", 24), ("rigid", 6), ("pvc", 18), ("gfci-circuit", 12), ("low-voltage", 6)],
)
def test_cover_over_a_buried_wire(how: str, inches: int) -> None:
    """Source: NEC Table 300.5 (summary); a licensed electrician decides."""
    assert c.wire_cover(how, library().covers) == inches * INCH


def test_cover_is_not_the_depth_of_the_trench() -> None:
    """1-in conduit, 1.315 in outside, at 18 in of cover: 19.315 in. Source: NEC 300.5 note 1."""
    assert c.trench_for(18 * INCH, round(1.315 * INCH)) == 4906


def test_paving_near_water_is_bonded() -> None:
    """An edge 2 ft from the water is, 4 ft is not. Source: NEC 680.26(B)(2) (excerpts: 3 ft)."""
    assert (c.must_bond(2 * FOOT), c.must_bond(4 * FOOT)) == (True, False)


def test_a_full_barrow_of_concrete_warns_on_a_slope() -> None:
    """4 ft3 is 600 lb: too much for one person on slope or soft ground (common practice)."""
    pounds = c.load_lb(4)
    assert pounds == 600
    assert c.warn_of_load(pounds, slope_or_soft=True)
    assert not c.warn_of_load(pounds, slope_or_soft=False)
    assert not c.warn_of_load(c.load_lb(3), slope_or_soft=True)
