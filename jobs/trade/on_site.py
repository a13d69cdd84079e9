"""What somebody measured on site, put to the usual limits: one question, a few sentences for an answer.

Label, local code, the engineer, the competent person on site and the licensed trade overrule every answer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from . import cautions, concrete
from .hauls import trips_an_hour
from .quantities import CONCRETE_LB_FT3, loads
from .ready_mix import oldest
from .units import say_length
from .ways_in import longest_round_corner
from .wet_trades import mortar_refused
from .work import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterator
    from decimal import Decimal

    from .facts import Carrier

PERCENT = 100
PIT_WORDS = {
    cautions.Trench.JUDGED: "site-pit-judged",
    cautions.Trench.PROTECTED: "site-pit-protected",
}


def pit(depth: int, way_out: int | None, back: int | None) -> Iterator[Sentence]:
    """Say what a pit asks for by its depth, its nearest ladder and its heap (tenths of a millimetre)."""
    yield Sentence(PIT_WORDS[cautions.trench(depth)])
    if depth >= cautions.TRENCH_WAY_OUT and way_out is None:
        yield Sentence("site-pit-way-out-ask")
    elif way_out is not None and cautions.way_out_missing(depth, way_out):
        yield Sentence("site-pit-way-out")
    if back is not None and cautions.spoil_too_near(back):
        yield Sentence("site-pit-spoil")


def wire(cover: int, outside: int) -> Iterator[Sentence]:
    """Say how deep a trench for a pipe is, by its least cover and its width outside."""
    deep = say_length(cautions.trench_for(cover, outside))
    yield Sentence("site-wire", {"cover": say_length(cover), "deep": deep})


def water_edge(edge: int) -> Iterator[Sentence]:
    """Say whether paving so far from the water is bonded."""
    yield Sentence("site-bond" if cautions.must_bond(edge) else "site-bond-not")


def saw(hours: float, *, walk_behind: bool) -> Iterator[Sentence]:
    """Say what silica asks for when stone or concrete is sawn wet outdoors."""
    asks = cautions.needs_respirator(hours, walk_behind=walk_behind)
    yield Sentence("site-saw-respirator" if asks else "site-saw-none")


class Truck(NamedTuple):
    """A load as it arrives: its temperature, minutes since the water, turns of the drum, and the order."""

    fahrenheit: float
    minutes: int
    turns: int | None = None
    agreed: int | None = None
    edition: int | None = None


def truck(load: Truck) -> Iterator[Sentence]:
    """Say whether a load of concrete may be placed."""
    if concrete.too_hot(load.fahrenheit):
        yield Sentence("site-truck-hot", {"most": f"{concrete.HOTTEST_F:.0f} °F"})
    age = oldest(load.agreed, load.edition)
    turned = age.turns is not None and load.turns is not None and load.turns > age.turns
    if load.minutes > age.minutes or turned:
        yield Sentence("site-truck-old", {"minutes": age.minutes})
    else:
        yield Sentence("site-truck-left", {"minutes": age.minutes - load.minutes})
    if age.ask:
        yield Sentence("site-truck-ask", {"minutes": age.minutes})


def drying(concrete_f: float, air_f: float, humidity: float, wind_mph: float) -> Iterator[Sentence]:
    """Say how fast water leaves fresh concrete, by whichever published form says more."""
    given = (concrete_f, air_f, humidity / PERCENT, wind_mph)
    pounds = max(concrete.evaporation(*given), concrete.evaporation_us(*given))
    key = "site-drying-guard" if concrete.must_guard(pounds) else "site-drying-fine"
    most = f"{concrete.EVAPORATION_LIMIT:.2f}"
    yield Sentence(key, {"pounds": f"{pounds:.2f}", "most": most})


def mortar(fahrenheit: float) -> Iterator[Sentence]:
    """Say whether mortar may be used at its temperature."""
    yield Sentence("site-mortar-refused" if mortar_refused(fahrenheit) else "site-mortar-fine")


class Slab(NamedTuple):
    """A young slab: days old, mean temperature it was kept at, its cement, strength tested in percent."""

    days: float
    fahrenheit: float
    cement: str
    tested: float | None = None


def slab(young: Slab) -> Iterator[Sentence]:
    """Say how far a young slab is: cured, strong, ready for water over it, a machine, its forms off below."""
    if young.cement in concrete.CURE_DAYS:
        cured = concrete.cured(young.cement, [young.fahrenheit] * int(young.days))
        yield Sentence("site-slab-cured" if cured else "site-slab-curing")
    else:
        yield Sentence("site-slab-ask")
    warm = young.days * concrete.age_factor(young.fahrenheit)
    careful = young.days * concrete.careful_age_factor(young.fahrenheit)
    shares = [f"{concrete.strength(days) * PERCENT:.0f}" for days in (warm, min(warm, careful))]
    yield Sentence("site-slab-strength", dict(zip(("share", "careful"), shares, strict=True)))
    if concrete.age_factor(young.fahrenheit):
        least = (concrete.MACHINE_SHARE, concrete.MACHINE_DAYS)
        days = concrete.bears(*least, young.fahrenheit)
        yield Sentence("site-slab-machine", {"days": f"{days:.1f}"})
    dry = concrete.safe_from_running_water(young.days, young.cement)
    yield Sentence("site-slab-water" if dry else "site-slab-no-water")
    if young.tested is not None:
        off = concrete.soffit_may_strip(young.days, young.tested / PERCENT)
        yield Sentence("site-slab-soffit" if off else "site-slab-no-soffit")


def barrow(
    yards: Decimal, ft3: Decimal, feet: Decimal, carrier: Carrier, *, slope_or_soft: bool
) -> Iterator[Sentence]:
    """Say how many barrows of concrete an amount is, how heavy each, and how long they take."""
    count, pounds = loads(yards, ft3), int(ft3 * CONCRETE_LB_FT3)
    trips = trips_an_hour(feet, carrier, concrete=True)
    told: dict[str, str | int] = {"loads": count, "pounds": pounds, "trips": f"{trips:.0f}"}
    yield Sentence("site-barrow", told | {"hours": f"{count / trips:.1f}"})
    if cautions.warn_of_load(pounds, slope_or_soft=slope_or_soft):
        yield Sentence("site-barrow-heavy", {"pounds": pounds})


def corner(first: int, second: int, width: int) -> Iterator[Sentence]:
    """Say how long a body may be to get round a right-angle turn between two passages."""
    long = longest_round_corner(first, second, width)
    if long:
        yield Sentence("site-corner", {"long": say_length(long)})
    else:
        yield Sentence("site-corner-none")
