"""What was measured on site, put to the usual limits; figures from outside where a source is named."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from jobs.trade import on_site as site
from jobs.trade.amounts import parse_length
from jobs.trade.units import FOOT, INCH
from tests.yards import library

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.trade.work import Sentence

D = Decimal


def keys(told: Iterable[Sentence]) -> list[str]:
    """Return what is said, by key, without the word they all begin with."""
    return [sentence.key.removeprefix("site-") for sentence in told]


@pytest.mark.parametrize(
    ("depth", "way_out", "back", "told"),
    [
        ("4 ft 11 in", "20 ft", "2 ft", ["pit-judged"]),
        ("5 ft", "20 ft", "2 ft", ["pit-protected"]),
        ("4 ft", "30 ft", "2 ft", ["pit-judged", "pit-way-out"]),
        ("4 ft", "25 ft", "2 ft", ["pit-judged"]),
        ("4 ft", None, None, ["pit-judged", "pit-way-out-ask"]),
        ("3 ft", "30 ft", "1 ft", ["pit-judged", "pit-spoil"]),
    ],
)
def test_a_pit(depth: str, way_out: str | None, back: str | None, told: list[str]) -> None:
    """Protected from 5 ft, a way out within 25 ft from 4 ft, the heap 2 ft back.

    Source: 29 CFR 1926.652(a)(1); 1926.651(c)(2) and (j)(2) (summaries).
    """
    lengths = (None if one is None else parse_length(one) for one in (way_out, back))
    assert keys(site.pit(parse_length(depth), *lengths)) == told


def test_cover_is_not_the_depth_of_the_trench() -> None:
    """1-in conduit, 1.315 in outside, at 18 in of cover: 19.3 in and its bed. Source: NEC 300.5 note 1."""
    [told] = site.wire(18 * INCH, round(1.315 * INCH))
    assert told.values == {"cover": "18 in", "deep": "19.3 in"}


@pytest.mark.parametrize(("feet", "told"), [(2, "bond"), (3, "bond"), (4, "bond-not")])
def test_paving_near_water_is_bonded(feet: int, told: str) -> None:
    """Within 3 ft. Source: NEC 680.26(B)(2) (excerpts)."""
    assert keys(site.water_edge(feet * FOOT)) == [told]


@pytest.mark.parametrize(
    ("hours", "walk_behind", "told"),
    [
        (3, False, "saw-none"),
        (4, False, "saw-none"),
        (5, False, "saw-respirator"),
        (3, True, "saw-none"),
        (5, True, "saw-none"),
    ],
)
def test_silica(hours: float, walk_behind: bool, told: str) -> None:  # noqa: FBT001 - a table
    """A hand saw outdoors with water above four hours. Source: 29 CFR 1926.1153 Table 1 (ii), (iv)."""
    assert keys(site.saw(hours, walk_behind=walk_behind)) == [told]


@pytest.mark.parametrize(
    ("load", "told"),
    [
        (site.Truck(95, 60, agreed=90), ["truck-left"]),
        (site.Truck(96, 60, agreed=90), ["truck-hot", "truck-left"]),
        (site.Truck(80, 91, agreed=90), ["truck-old"]),
        (site.Truck(80, 60), ["truck-left", "truck-ask"]),
        (site.Truck(80, 60, edition=2021), ["truck-left", "truck-ask"]),
        (site.Truck(80, 90, turns=300, edition=2020), ["truck-left"]),
        (site.Truck(80, 60, turns=301, edition=2020), ["truck-old"]),
        (site.Truck(80, 91, turns=100, edition=2020), ["truck-old"]),
        (site.Truck(80, 100, turns=400, agreed=120, edition=2016), ["truck-left"]),
    ],
)
def test_a_load_of_concrete(load: site.Truck, told: list[str]) -> None:
    """95 F at discharge; the limit agreed, else 90 minutes or 300 turns of old, else asked for.

    Source: ACI 301-20, 305.1-14 (secondary); ASTM C94/C94M-21, 6.1.10 and 12.9, and C94 to 2020 (report).
    """
    assert keys(site.truck(load)) == told


def test_water_off_fresh_concrete_is_told_by_the_form_that_says_more() -> None:
    """85/80 F, 30 %, 15 mph: 0.332 by the SI form, 0.346 by the US form. Source: 95-M34; ACI 305R."""
    [told] = site.drying(85, 80, 30, 15)
    assert (told.key, told.values["pounds"]) == ("site-drying-guard", "0.35")
    assert keys(site.drying(70, 70, 50, 10)) == ["drying-fine"]


def test_mortar_of_121_degrees_is_refused() -> None:
    """Source: TMS 602 (summary): 120 F."""
    assert keys(site.mortar(120)) + keys(site.mortar(121)) == ["mortar-fine", "mortar-refused"]


@pytest.mark.parametrize(
    ("days", "tested", "told"),
    [(6, 80, "no-soffit"), (7, 70, "no-soffit"), (7, 75, "soffit")],
)
def test_forms_under_a_slab(days: float, tested: float, told: str) -> None:
    """Seven days and 75 % of the strength, both. Source: a town's specification."""
    assert keys(site.slab(site.Slab(days, 70, "Type I", tested)))[-1] == f"slab-{told}"


def test_a_week_old_slab_in_mild_weather() -> None:
    """Cured by Type I; 70 % at 73.4 F (ACI 209R); a machine on day 8.3; no running water (UFGS 03301A)."""
    told = list(site.slab(site.Slab(7, 73.4, "Type I")))
    assert keys(told) == ["slab-cured", "slab-strength", "slab-machine", "slab-no-water"]
    assert told[1].values == {"share": "70", "careful": "70"}
    assert told[2].values == {"days": "8.3"}


def test_two_weeks_at_fifty_degrees() -> None:
    """6.45 d at 73.4 F are worth 68 %; over 32 F 6.09 d, 66 %; a machine on day 18 (ASTM C1074)."""
    told = list(site.slab(site.Slab(14, 50, "Type II")))
    assert keys(told) == ["slab-cured", "slab-strength", "slab-machine", "slab-water"]
    assert told[1].values == {"share": "68", "careful": "66"}
    assert told[2].values == {"days": "18.0"}


def test_running_water_and_cold() -> None:
    """13 days are too few, 7 enough for Type III; nothing cures at 45 F or hardens at 30. UFGS 03301A."""
    assert "slab-no-water" in keys(site.slab(site.Slab(13, 60, "Type I")))
    assert keys(site.slab(site.Slab(7, 60, "Type III")))[0::3] == ["slab-ask", "slab-water"]
    assert keys(site.slab(site.Slab(20, 45, "Type I")))[0] == "slab-curing"
    frozen = list(site.slab(site.Slab(5, 30, "Type I")))
    assert keys(frozen) == ["slab-curing", "slab-strength", "slab-no-water"]
    assert frozen[1].values == {"share": "0", "careful": "0"}


def test_a_slab_by_barrow() -> None:
    """8 yd3 at 4 ft3: 54 loads of 600 lb; 50 / (1.5 + 50/130 + 50/200) = 23.4 trips an hour, 2.3 hours (common practice)."""
    barrow = library().carriers["wheelbarrow"]
    told = list(site.barrow(D(8), D(4), D(50), barrow, slope_or_soft=True))
    assert told[0].values == {"loads": 54, "pounds": 600, "trips": "23", "hours": "2.3"}
    assert keys(told) == ["barrow", "barrow-heavy"]
    assert keys(site.barrow(D(8), D(3), D(50), barrow, slope_or_soft=True)) == ["barrow"]
    assert keys(site.barrow(D(8), D(4), D(50), barrow, slope_or_soft=False)) == ["barrow"]


def test_a_body_round_a_corner() -> None:
    """48 by 48 in: 36 in wide 63.8 in long (geometry); as wide as a passage: not at all."""
    [told] = site.corner(48 * INCH, 48 * INCH, 36 * INCH)
    assert told.values == {"long": "63.8 in"}
    assert keys(site.corner(48 * INCH, 60 * INCH, 48 * INCH)) == ["corner-none"]
