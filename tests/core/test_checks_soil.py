"""Figures from outside about wet ground, hauling by trips, and the yard's own soil."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from jobs.trade.access import Route
from jobs.trade.errors import TradeError
from jobs.trade.hauls import carrier_of, shares, trips_an_hour
from jobs.trade.scope import PassageIn
from jobs.trade.soil import Book, Days, book_of, days_to_dry
from jobs.trade.work import Quantity
from tests.yards import INCH, library

D = Decimal


def dry(texture: str, rain: str, **told: bool) -> Days:
    """Return days after a rain on a texture."""
    return days_to_dry(library().dryout[texture], D(rain), **told)


def test_sand_dries_within_a_day() -> None:
    """0.7 in on sand: 0 to 1 day (common practice)."""
    assert dry("sand", "0.7") == (0, D("0.5"), 1)


def test_loam_is_ready_on_wednesday_morning() -> None:
    """0.7 in ended Monday 18:00: 1.5 d, so from Wednesday 06:00 (common practice)."""
    ended = datetime(2026, 6, 8, 18)  # noqa: DTZ001 - the local clock
    usual = float(dry("loam", "0.7").usual)
    assert ended + timedelta(days=usual) == datetime(2026, 6, 10, 6)  # noqa: DTZ001 - the same


def test_clay_takes_three_to_five_days() -> None:
    """0.7 in on clay (common practice)."""
    assert dry("clay", "0.7") == (3, 4, 5)


def test_the_cool_season_doubles_it() -> None:
    """Loam in January: 3 days usual (common practice)."""
    assert dry("loam", "0.7", cool=True).usual == 3


def test_shade_and_sheet() -> None:
    """Under turf a day more, under a sheet half (common practice)."""
    assert dry("loam", "0.7", shade=True).usual == D("2.5")
    assert dry("loam", "0.7", covered=True).usual == D("0.75")


@pytest.mark.parametrize("rain", ["0.05", "0.1", "0.3", "0.7", "1.5"])
def test_finer_soil_never_dries_sooner(rain: str) -> None:
    """Sand, loam, clay in that order. Source: Iowa State Extension; FAO."""
    for sand, loam, clay in zip(
        dry("sand", rain), dry("loam", rain), dry("clay", rain), strict=True
    ):
        assert sand <= loam <= clay


@pytest.mark.parametrize("texture", ["sand", "loam", "clay"])
def test_more_rain_never_dries_sooner(texture: str) -> None:
    """A sixteenth of an inch more is never a shorter wait (arithmetic)."""
    usual = [dry(texture, str(D(n) / 16)).usual for n in range(40)]
    assert usual == sorted(usual)


def test_rain_below_nothing_is_refused() -> None:
    """It does not rain upwards."""
    with pytest.raises(TradeError):
        dry("loam", "-1")


# -- the book of soil ------------------------------------------------------------------


def test_mounds_take_the_yard_s_own_soil_first() -> None:
    """20 bank yd3 of loam dug, 7 compacted wanted at 12.5 % shrink: 8 used, 12 left, 15 loose."""
    book = Book(D(20), D(7))
    assert (book.used, book.away, book.bought) == (8, 15, 0)


def test_what_lacks_is_bought() -> None:
    """4 bank yd3 dug, 7 wanted: 8 needed, 4 lacking, 5 loose come in."""
    book = Book(D(4), D(7))
    assert (book.used, book.away, book.bought) == (4, 0, 5)


def test_clay_swells_more_than_loam() -> None:
    """10 bank yd3 of clay are 13 loose, of loam 12.5 (use figures of the earthwork handbooks)."""
    clay, loam = (book_of(D(10), D(0), library().soils[key]) for key in ("clay", "loam"))
    assert (clay.away, loam.away) == (13, D("12.5"))


# -- trips -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("carrier", "feet", "trips"),
    [
        ("wheelbarrow", 25, "17.7"),
        ("wheelbarrow", 50, "16.0"),
        ("wheelbarrow", 100, "13.3"),
        ("wheelbarrow", 200, "9.9"),
        ("loader-stand-on", 25, "39.9"),
        ("loader-stand-on", 50, "33.2"),
        ("loader-stand-on", 100, "24.9"),
        ("loader-stand-on", 200, "16.6"),
    ],
)
def test_trips_an_hour(carrier: str, feet: int, trips: str) -> None:
    """50 worked minutes over load, dump, out and back (common practice figures)."""
    assert f"{trips_an_hour(D(feet), library().carriers[carrier]):.1f}" == trips


def test_a_small_haul_takes_a_small_share_of_the_gate() -> None:
    """9 ft3 a slot by barrow is 3 trips of the 157 that 50 ft of gate hold: 2 percent, up."""
    gate = PassageIn("g", "Gate", "", "z", 40 * INCH, length_ft=50)
    barrow = carrier_of((), library().carriers)
    assert barrow is not None
    taken = shares("haul-soil", Quantity(D(1) / 3, "yd3"), D("0.25"), Route((gate,)), barrow)
    assert taken == {"g": 2}


def test_a_gate_is_never_more_than_full() -> None:
    """A hundred yards in one slot by barrow: the gate is full, and no more."""
    gate = PassageIn("g", "Gate", "", "z", 40 * INCH, length_ft=50)
    barrow = library().carriers["wheelbarrow"]
    full = shares("haul-soil", Quantity(D(100), "yd3"), D("0.25"), Route((gate,)), barrow)
    assert full == {"g": 100}


def test_what_is_not_hauled_takes_nothing() -> None:
    """Pointing joints carries no loads."""
    gate = PassageIn("g", "Gate", "", "z", 40 * INCH)
    barrow = library().carriers["wheelbarrow"]
    assert shares("point-joints", Quantity(D(100), "ft2"), D(1), Route((gate,)), barrow) == {}
