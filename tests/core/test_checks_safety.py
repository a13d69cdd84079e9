"""Gates where work can hurt somebody. The competent person, the label and local code overrule them all."""

from __future__ import annotations

import pytest

from jobs.trade import cautions as c
from jobs.trade.units import INCH
from tests.yards import library


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


@pytest.mark.parametrize(
    ("how", "inches"),
    [("direct", 24), ("rigid", 6), ("pvc", 18), ("gfci-circuit", 12), ("low-voltage", 6)],
)
def test_cover_over_a_buried_wire(how: str, inches: int) -> None:
    """Source: NEC Table 300.5 (summary); a licensed electrician decides."""
    assert library().covers[how].cover == inches * INCH
