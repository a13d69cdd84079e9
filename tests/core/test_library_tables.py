"""The library's tables against outside figures: trees, machines, wires, soils, weather, notices."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from jobs.services.numbers.library import current_library
from jobs.trade.units import INCH, inches

LIBRARY = current_library()
RAINS = [Decimal(n) / 100 for n in (5, 10, 20, 25, 40, 50, 70, 100, 300)]
TEXTURES = ("sand", "loam", "clay")


# -- trees and access ------------------------------------------------------------------


def test_box_weights() -> None:
    """X01 (common practice, in no public table): lift weights of 24-, 36- and 48-in boxes."""
    assert [LIBRARY.trees[key].weight_lb for key in ("24-in", "36-in", "48-in")] == [
        (460, 540),
        (1440, 1710),
        (3110, 3690),
    ]


def test_box_densities_are_those_of_damp_light_mix() -> None:
    """X02 (arithmetic): 57.5-67.5, 53-63 and 48.6-57.7 lb per cubic foot of box."""
    found = []
    for key in ("24-in", "36-in", "48-in"):
        tree = LIBRARY.trees[key]
        found.append(tuple(round(w / tree.box_ft3[0], 1) for w in tree.weight_lb))
    assert found == [
        (Decimal("57.5"), Decimal("67.5")),
        (Decimal("53.3"), Decimal("63.3")),
        (Decimal("48.6"), Decimal("57.7")),
    ]


def test_field_dug_balls_weigh_as_published() -> None:
    """30 in 400 to 500 lb, 40 in 800 to 900. Source: University of Florida IFAS, woody plants.

    For scale: a ball of our 24-in box's width weighs less than the box, as its corners are missing.
    """
    balls = [LIBRARY.trees[key].weight_lb for key in ("ball-30", "ball-40")]
    assert balls == [(400, 500), (800, 900)]
    by_width = Decimal(500) * 24**3 / 30**3
    assert by_width < LIBRARY.trees["24-in"].weight_lb[0]


def test_a_48_inch_box_weighs_nearly_eight_times_a_24_inch_one() -> None:
    """X03 (cube law, arithmetic): the ratio lies between 5.8 and 8.0."""
    small, large = LIBRARY.trees["24-in"].weight_lb, LIBRARY.trees["48-in"].weight_lb
    assert round(large[0] / small[1], 1) == Decimal("5.8")
    assert round(large[1] / small[0], 1) == Decimal("8.0")


def test_no_machine_needs_less_than_its_own_narrowest_width() -> None:
    """X04, X05 (passing rule): the least passage of a kind is at least its narrowest width."""
    sized = [kind for kind in LIBRARY.machines.values() if kind.width and kind.passage]
    assert [kind.key for kind in sized if kind.width[0] > kind.passage] == []


def test_a_36_inch_loader_needs_40_inches() -> None:
    """X04 and machine table (common practice): a 36-in machine does not pass a 36-in gate."""
    loader = LIBRARY.machines["loader-stand-on"]
    assert loader.passage == inches(40)
    assert (loader.width[1] if loader.width else 0) + loader.clearance > inches(36)


def test_gates_rise_and_the_first_has_no_width() -> None:
    """The table of gates (common practice) begins at nothing and rises to 78 in."""
    widths = [gate.width / INCH for gate in LIBRARY.gates]
    assert widths == [0, 30, 36, 40, 48, 60, 78]


def test_a_barrow_makes_sixteen_trips_an_hour_over_fifty_feet() -> None:
    """Trips table (common practice): 50 / (2.5 + 50/130 + 50/200) = 16.0; stand-on loader 33.2."""
    found = []
    for key in ("wheelbarrow", "loader-stand-on"):
        one = LIBRARY.carriers[key]
        minutes = one.ends_min + 50 / one.out_ft_min + 50 / one.back_ft_min
        found.append(round((one.minutes_per_hour or 0) / minutes, 1))
    assert found == [Decimal("16.0"), Decimal("33.2")]


# -- wires, soil -----------------------------------------------------------------------


def test_cover_over_buried_wire() -> None:
    """S15 (NEC Table 300.5, summary): UF direct 24, PVC 18, rigid metal 6, GFCI circuit 12, 30 V 6 in."""
    assert {key: one.cover / INCH for key, one in LIBRARY.covers.items()} == {
        "direct": 24,
        "pvc": 18,
        "rigid": 6,
        "gfci-circuit": 12,
        "low-voltage": 6,
    }


def drying(texture: str, rain: Decimal) -> tuple[Decimal, ...]:
    """Return least, usual and high days of a soil after a rain; nothing if it is too little."""
    band = LIBRARY.dryout[texture].after(rain)
    return (Decimal(0),) * 3 if band is None else (band.least, band.usual, band.high)


@pytest.mark.parametrize("rain", RAINS)
def test_finer_soil_never_dries_sooner(rain: Decimal) -> None:
    """D05 (Iowa State Extension; FAO): with the same rain sand <= loam <= clay, always."""
    by_figure = zip(*(drying(texture, rain) for texture in TEXTURES), strict=True)
    assert [list(figures) == sorted(figures) for figures in by_figure] == [True] * 3


@pytest.mark.parametrize("texture", TEXTURES)
def test_more_rain_never_dries_sooner(texture: str) -> None:
    """D06 (arithmetic): along rising rain no figure of the table falls."""
    by_figure = zip(*(drying(texture, rain) for rain in RAINS), strict=True)
    assert [list(figures) == sorted(figures) for figures in by_figure] == [True] * 3


@pytest.mark.parametrize(
    ("texture", "days"),
    [
        ("sand", (0, Decimal("0.5"), 1)),  # D01
        ("loam", (1, Decimal("1.5"), 2)),  # D02
        ("clay", (3, 4, 5)),  # D03
    ],
)
def test_dry_out_after_seven_tenths_of_an_inch(texture: str, days: tuple[Any, ...]) -> None:
    """D01 to D03 (common practice): days after 0.7 in of rain in the warm season."""
    assert drying(texture, Decimal("0.7")) == days


def test_cool_season_doubles_and_shade_adds_a_day() -> None:
    """D04 (common practice): loam after 0.7 in takes 1.5 days, in January 3."""
    loam = LIBRARY.dryout["loam"]
    _, usual, _ = drying("loam", Decimal("0.7"))
    assert usual * loam.cool_factor == 3
    assert (loam.shade_days, loam.covered_factor) == (1, Decimal("0.5"))


def test_a_trace_of_rain_costs_no_day() -> None:
    """Below a tenth of an inch the table does not begin (common practice)."""
    assert [LIBRARY.dryout[texture].after(Decimal("0.09")) for texture in TEXTURES] == [None] * 3


def test_soils_swell_as_the_handbooks_say() -> None:
    """Q17 (published estimating example): 1,000 bank yards of clay at 30 % are 1,300 loose ones."""
    assert 1000 * (1 + LIBRARY.soils["clay"].swell_use) == 1300
    assert all(s.swell[0] <= s.swell_use <= s.swell[1] for s in LIBRARY.soils.values())


# -- weather and notices -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "limits"),
    [
        ("W3", {"air_min_f": 60, "air_max_f": 90, "wind_mph": 10, "dry_after_h": 6}),  # T04-T06
        ("W4", {"air_min_f": 40, "concrete_max_f": 95, "dry_after_h": 12}),  # C06, C08, C11
        ("W5", {"air_min_f": 40, "air_max_f": 100, "hot_f": 90, "hot_wind_mph": 8}),  # K01, K02
    ],
)
def test_weather_limits(key: str, limits: dict[str, int]) -> None:
    """T04-T06 (label practice), C06, C08, C11 (UFGS, ACI 306R, 301), K01, K02 (TMS 602)."""
    found = LIBRARY.weather[key]
    assert {name: getattr(found, name) for name in limits} == limits


def test_concrete_stops_at_the_limit_of_evaporation() -> None:
    """E07 (ACI 305R): 0.20 lb per square foot and hour."""
    assert LIBRARY.weather["W4"].evaporation_max == Decimal("0.20")


@pytest.mark.parametrize(
    ("state", "least", "unit"),
    [
        ("SC", 3, "bd"),  # L01, S.C. Code 58-36-60
        ("TX", 48, "h"),  # L06, Tex. Util. Code 251.151
        ("CO", 2, "bd"),  # L11, C.R.S. 9-1.5-103
        ("CA", 2, "bd"),  # L13, Gov. Code 4216.2
        ("FL", 2, "bd"),  # L15, F.S. 556.105
        ("KS", 2, "bd"),  # L16, K.S.A. 66-1804
        ("NV", 2, "bd"),  # L17, NRS 455.110
        ("WA", 2, "bd"),  # L18, RCW 19.122.030
        ("TN", 3, "bd"),  # L19, T.C.A. 65-31-106
        ("UT", 48, "h"),  # L20, Utah Code 54-8a-4, older text
        ("NC", 3, "bd"),  # L21, G.S. 87-122
        ("GA", 2, "bd"),  # L22, O.C.G.A. 25-9-7
        ("AL", 2, "bd"),  # L23, Ala. Code 37-15
        ("XX", 3, "bd"),  # L24, common practice
    ],
)
def test_least_notice_by_state(state: str, least: int, unit: str) -> None:
    """L01-L24 (state codes named beside each): least notice before digging."""
    assert (LIBRARY.notices[state].least, LIBRARY.notices[state].unit) == (least, unit)


@pytest.mark.parametrize(
    ("state", "earliest", "life"),
    [
        ("SC", (12, "bd"), (15, "bd", "start")),  # L03, L04
        ("CA", (14, "d"), (28, "d", "request")),  # L14
        ("CO", (None, ""), (30, "d", "due")),  # L12
        ("KS", (15, "d"), (15, "d", "start")),  # L16
        ("NV", (28, "d"), (28, "d", "request")),  # L17
        ("WA", (10, "bd"), (45, "d", "request")),  # L18
        ("TN", (10, "bd"), (15, "d", "start")),  # L19
        ("AL", (10, "bd"), (20, "bd", "request")),  # L23
        ("GA", (None, ""), (21, "d", "request")),  # L22
    ],
)
def test_earliest_call_and_life_of_the_marks(
    state: str, earliest: tuple[int | None, str], life: tuple[int, str, str]
) -> None:
    """L03, L04, L12, L14, L16-L19, L22, L23 (state codes): how early to call, how long marks hold."""
    found = LIBRARY.notices[state]
    assert (found.earliest, found.earliest_unit) == earliest
    assert (found.life, found.life_unit, found.life_from) == life


def test_south_carolina_under_water() -> None:
    """L05 (S.C. Code 58-36-60(A)(1)): 10 to 20 full working days near a line under water."""
    found = LIBRARY.notices["SC"]
    assert (found.water_least, found.water_earliest) == (10, 20)
