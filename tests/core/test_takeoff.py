"""A takeoff reads answers, refuses what cannot be built, and measures the work."""

from __future__ import annotations

from decimal import Decimal

import pytest

from jobs.trade.durations import estimate, slots_for, spread_of, with_people
from jobs.trade.errors import ScopeError, TradeError
from jobs.trade.formulas import FORMULAS, Measures
from jobs.trade.scope import Item, ZoneIn
from jobs.trade.takeoff import check_answers, measure_item
from jobs.trade.work import Quantity, Shift, Spread
from tests.yards import MEADOW, PATIO, WHOLE, library

D = Decimal


def faults(assembly: str, zone: ZoneIn = PATIO, **answers: str) -> dict[str, str]:
    """Return the reasons of the faults of some answers, by ask."""
    told = {key.replace("_", "-"): value for key, value in answers.items()}
    checked = check_answers(library().assemblies[assembly], told, zone)
    return {key: fault.reason for key, fault in checked.faults.items()}


def measured(assembly: str, zone: ZoneIn = PATIO, **answers: str) -> dict[str, str]:
    """Return amount and unit of each work of an item, by template."""
    told = {key.replace("_", "-"): value for key, value in answers.items()}
    found = measure_item(Item("i", assembly, zone.uid, told), zone, library(), None)
    return {m.template.key: f"{m.quantity.amount:f} {m.quantity.unit}" for m in found}


def test_an_unanswered_area_is_the_zone_s_own() -> None:
    """A patio drawn with 420 ft2 need not be measured twice."""
    checked = check_answers(library().assemblies["flagstone"], {}, PATIO)
    assert (checked.amounts["area"], checked.words["seal"]) == (D(420), "no")
    assert checked.faults == {}


def test_a_missing_amount_is_told_with_its_unit() -> None:
    """A zone without an area, and none typed: the ask says what it needs."""
    checked = check_answers(library().assemblies["flagstone"], {}, WHOLE)
    assert checked.faults["area"] == ("Area is missing", "give it in ft2")


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("0", "Area is zero, so there is nothing to build"),
        ("20,000 ft2", "Area: 20000 ft2 is more than a yard holds"),
    ],
)
def test_nothing_and_too_much_are_refused(typed: str, reason: str) -> None:
    """Zero builds nothing, and a yard holds no 20,000 ft2 of flagstone."""
    assert faults("flagstone", area=typed) == {"area": reason}


@pytest.mark.parametrize("typed", ["-5", "lots", "420 lb", "420 furlongs"])
def test_what_is_no_area_is_refused(typed: str) -> None:
    """Negative, no number, a weight, a unit nobody knows: each is a fault of the area alone."""
    assert list(faults("flagstone", area=typed)) == ["area"]


def test_every_fault_is_told_at_once() -> None:
    """A wrong choice, a question that is not asked and a missing length come together."""
    assert faults("seat-wall", faces="three", colour="red") == {
        "colour": "'colour' is not asked here",
        "length": "Length is missing",
        "faces": "'three' is not a choice for faced on",
    }


def test_a_choice_is_read_whatever_its_capitals() -> None:
    """Somebody types PUMP and gets the pump."""
    checked = check_answers(library().assemblies["concrete-slab"], {"placing": "PUMP"}, PATIO)
    assert checked.words["placing"] == "pump"


def test_amounts_in_other_units_are_turned_into_the_asked_one() -> None:
    """39 m2 is 419.793 ft2."""
    checked = check_answers(library().assemblies["flagstone"], {"area": "39 m2"}, PATIO)
    assert checked.amounts["area"] == D("419.793")


def test_flagstone_on_a_slab_unfolds_from_pit_to_joints() -> None:
    """420 ft2 by 10 in dug and 4 in of base: every quantity by hand."""
    assert measured("flagstone-on-slab", area="420") == {
        "dig-out": "12.963 yd3",
        "haul-soil": "16.204 yd3",
        "compact-ground": "420.000 ft2",
        "spread-base": "9.450 tons",
        "set-forms-rebar": "420.000 ft2",
        "inspect-forms": "0.25 days",
        "pour-slab": "420.000 ft2",
        "saw-joints": "43.012 ft",
        "cure-slab": "420.000 ft2",
        "strip-forms": "420.000 ft2",
        "dry-fit-stone": "420.000 ft2",
        "set-stone": "420.000 ft2",
        "point-joints": "420.000 ft2",
    }


def test_a_part_is_there_only_where_the_answer_asks_for_it() -> None:
    """A seat wall that holds no soil back is not backfilled; one without conduit digs no trench."""
    plain = measured("seat-wall", length="18 ft")
    assert "drain-backfill-wall" not in plain
    assert "trench" not in plain
    assert measured("seat-wall", length="18 ft", holds="yes")["drain-backfill-wall"] == "18.000 ft"


@pytest.mark.parametrize(
    ("weed", "sprays"),
    [
        ("annual weeds", ["spray-turf-1"]),
        ("tall fescue or mixed lawn", ["spray-turf-1", "spray-turf-2"]),
        ("bermuda or other runners", ["spray-turf-1", "spray-turf-2", "spray-turf-3"]),
    ],
)
def test_what_grows_there_says_how_often_it_is_sprayed(weed: str, sprays: list[str]) -> None:
    """One spray for annuals, two for a mixed lawn, three for runners."""
    found = measured("turf-kill", area="1000", weed=weed)
    assert [key for key in found if key.startswith("spray")] == sprays


def test_watering_between_three_sprays_is_counted_up() -> None:
    """The second watering is not the first: they differ by ordinal."""
    told = {"area": "1000", "weed": "bermuda or other runners"}
    found = measure_item(Item("i", "turf-kill", "patio", told), PATIO, library(), None)
    assert [m.ordinal for m in found if m.template.key == "water-turf"] == [0, 1]


def test_a_slab_too_large_for_a_day_is_poured_in_parts() -> None:
    """1,400 ft2 at 800 a day is two pours of 700, each with its own joints and cure (C20)."""
    found = measure_item(
        Item("i", "concrete-slab", "patio", {"area": "1400"}), PATIO, library(), None
    )
    split = [(m.template.key, m.ordinal, m.quantity.amount) for m in found]
    assert [row for row in split if row[0] in ("pour-slab", "cure-slab")] == [
        ("pour-slab", 0, D("700.000")),
        ("pour-slab", 1, D("700.000")),
        ("cure-slab", 0, D("700.000")),
        ("cure-slab", 1, D("700.000")),
    ]


def test_an_unknown_assembly_is_refused_by_name() -> None:
    """Nobody builds a gazebo here."""
    with pytest.raises(ScopeError) as refused:
        measure_item(Item("i", "gazebo", "patio"), PATIO, library(), None)
    assert refused.value.reason == "'gazebo' is not in the library"


def test_measuring_refuses_what_checking_refuses() -> None:
    """The first fault stops a measure, and names the ask."""
    with pytest.raises(ScopeError) as refused:
        measure_item(Item("i", "boulders", "patio", {"count": "2.5"}), PATIO, library(), None)
    assert refused.value.where == "count"


# -- formulas --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("formula", "amounts", "words", "expected"),
    [
        ("dug", {"area": 420, "dig": 8}, {}, "10.37"),
        ("dug-loose", {"area": 420, "dig": 8}, {}, "12.96"),
        ("cut-loose", {"cut": 20}, {}, "25.00"),
        ("bed-dug", {"length": 30}, {}, "2.22"),
        ("strip-base", {"length": 32}, {}, "2.16"),
        ("step-base", {"risers": 5, "width": 4}, {}, "0.79"),
        ("footing-yards", {"length": 24}, {}, "1.19"),
        ("step-footing-yards", {"width": 4}, {}, "0.40"),
        ("stacked-face", {"length": 30, "height": 24}, {}, "75.00"),
        ("block-face", {"length": 24, "height": 18}, {}, "52.00"),
        ("faced", {"length": 24, "height": 18}, {"faces": "both"}, "72.00"),
        ("cell-grout", {"length": 24, "height": 18}, {}, "0.58"),
        ("berm", {"length": 40, "width": 8, "height": 2}, {"shape": "ridge"}, "11.85"),
        ("old-slab", {"area": 200, "thickness": 6}, {}, "300.00"),
        ("saw-cut", {"area": 400}, {}, "80.00"),
        ("saw-cut", {"area": 400, "saw": 35}, {}, "35.00"),
        ("pipes", {"main": 120, "laterals": 200}, {}, "320.00"),
        ("shrubs", {"five-gallon": 20, "one-gallon": 25}, {}, "30.00"),
        ("sod", {"area": 800}, {}, "840.00"),
        ("joint-feet", {"area": 400, "joints": 10}, {}, "40.00"),
    ],
)
def test_formula_gives_its_worked_figure(
    formula: str, amounts: dict[str, int], words: dict[str, str], expected: str
) -> None:
    """Each formula against a figure worked by hand (common practice of the trade)."""
    measures = Measures({key: D(value) for key, value in amounts.items()}, words)
    assert f"{FORMULAS[formula](measures):.2f}" == expected


def test_every_part_of_every_assembly_can_be_measured() -> None:
    """Each assembly unfolds with plausible answers, and each work of it takes some time."""
    for assembly in library().assemblies.values():
        told = {a.key: "8" for a in assembly.asks if a.required and not a.default}
        zone = MEADOW if assembly.group != "always" else WHOLE
        item = Item("i", assembly.key, zone.uid, told)
        for one in measure_item(item, zone, library(), None):
            assert Decimal(0) < one.spread.low <= one.spread.typical <= one.spread.high


# -- durations -------------------------------------------------------------------------


def test_stone_takes_seven_days_at_its_usual_pace() -> None:
    """Check Q21: 420 ft2 at 40, 60, 80 a day is 10.5, 7.0, 5.25 crew days."""
    rate = (D(40), D(60), D(80))
    assert spread_of(Quantity(D(420), "ft2"), rate) == Spread(D("5.25"), D(7), D("10.5"))


def test_mean_and_variance_of_that_spread() -> None:
    """Check P07: 7.292 and 0.766 by the three-point formulas (from memory)."""
    mean, variance = estimate(Spread(D("5.25"), D(7), D("10.5")))
    assert (f"{mean:.3f}", f"{variance:.3f}") == ("7.292", "0.766")


def test_mean_and_variance_of_two_three_six() -> None:
    """Check P06: 3.333 and 0.444 by the three-point formulas (from memory)."""
    mean, variance = estimate(Spread(D(2), D(3), D(6)))
    assert (f"{mean:.3f}", f"{variance:.3f}") == ("3.333", "0.444")


def test_days_of_their_own_are_not_divided() -> None:
    """An inspection of 0.1, 0.25, 0.5 days takes just that."""
    rate = (D("0.1"), D("0.25"), D("0.5"))
    assert spread_of(Quantity(D("0.25"), "days"), rate) == Spread(*rate)


def test_a_night_of_aiming_is_one_slot() -> None:
    """30 lights a night: 30 lights are one evening, 60 are two."""
    rate = (D(20), D(30), D(40))
    one, two = (spread_of(Quantity(D(n), "each"), rate, Shift.EVENING).typical for n in (30, 60))
    assert (slots_for(one), slots_for(two)) == (1, 2)


@pytest.mark.parametrize(
    ("days", "slots"),
    [("0.01", 1), ("0.25", 1), ("0.2875", 1), ("0.29", 2), ("1", 4), ("1.04", 5), ("7", 28)],
)
def test_slots_are_quarters_of_a_day_with_eighteen_minutes_of_grace(days: str, slots: int) -> None:
    """Quarters rounded up, less 0.15 of a slot, never none."""
    assert slots_for(D(days)) == slots


def test_one_more_man_helps_a_little_less_than_his_share() -> None:
    """7 days for two take three 7 x (2/3)^0.9 = 4.860 days, not 4.667."""
    assert with_people(D(7), people=3, usual=2) == D("4.860")


def test_nobody_never_finishes() -> None:
    """A work without people is refused."""
    with pytest.raises(TradeError):
        with_people(D(7), people=0, usual=2)
