"""Soil of a yard: what is dug goes where soil is wanted, the rest is hauled, by the yard's own soil."""

from __future__ import annotations

from dataclasses import replace

from jobs.trade.scope import Item
from jobs.trade.work import Clock, Lag, Relation
from tests.yards import between, expanded, of

SLAB = Item("slab", "flagstone-on-slab", "patio", {"placing": "pump"})
BERM = Item("mound", "berm", "meadow", {"length": "20", "width": "10", "height": "2"})


def test_spoil_goes_into_the_mound_before_any_is_hauled_away() -> None:
    """12.96 bank yd3 dug; 5.82 compacted want 6.65 in the bank; 7.9 loose go away in one truck."""
    made = expanded(SLAB, BERM)
    told = next(s for s in made.assumptions if s.key == "takeoff-spoil")
    assert told.values == {"dug": "13", "used": "6.6", "away": "7.9", "trucks": 1}
    [link] = between(made, "haul-soil", "build-berm")
    assert (link.relation, link.lag) == (Relation.START_START, Lag(2, Clock.WORK))


def test_soil_the_yard_lacks_is_hauled_in() -> None:
    """A mound alone: 5.82 compacted want 8.3 loose yd3, bought."""
    made = expanded(BERM)
    hauled = of(made, "haul-soil", ordinal=1)
    assert (f"{hauled.quantity.amount:f}", hauled.name) == ("8.3", "Haul soil, meadow")
    assert [s.key for s in made.assumptions] == ["takeoff-bought"]


def test_a_fill_takes_what_is_cut_elsewhere_and_buys_the_rest() -> None:
    """10 bank yd3 cut, 14 compacted filled: 16 wanted in the bank, 6 lack, 7.5 loose come in."""
    cut = Item("cut", "grading", "patio", {"cut": "10"})
    fill = Item("fill", "grading", "meadow", {"fill": "14"})
    made = expanded(cut, fill)
    assert f"{of(made, 'haul-soil', 'patio').quantity.amount:f}" == "12.500"
    assert f"{of(made, 'haul-soil', 'meadow', ordinal=1).quantity.amount:f}" == "7.5"


def test_soil_not_known_is_reckoned_as_common_earth_and_told() -> None:
    """Nobody said what "peat" weighs: 25 % swell, and a sentence about it."""
    made = expanded(SLAB, soil="peat")
    assert f"{of(made, 'haul-soil').quantity.amount:f}" == "16.204"
    assert [s.key for s in made.assumptions] == ["takeoff-soil-unknown"]


def test_clay_is_hauled_in_more_loads_than_loam() -> None:
    """12.963 bank yd3 at 30 % are 16.852 loose."""
    assert f"{of(expanded(SLAB, soil='clay'), 'haul-soil').quantity.amount:f}" == "16.852"


def test_a_mound_of_bought_soil_leaves_the_spoil_alone() -> None:
    """All of the slab's spoil goes away, all of the mound's soil comes in: 8.3 loose yd3."""
    bought = replace(BERM, answers={**BERM.answers, "soil": "bought"})
    made = expanded(SLAB, bought)
    assert f"{of(made, 'haul-soil', 'meadow', ordinal=1).quantity.amount:f}" == "8.3"
    assert [link for link in made.links if link.rule == "spoil-feeds-mound"] == []
