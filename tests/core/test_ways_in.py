"""Ways in: gates, corners, the yard as a graph, and who is shut out.

The tiny yard: the street leads by a side gate to the patio, from the patio by an arbor to the lawn, and
a back lane leads to the lawn as well where a test says so.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from jobs.services.numbers.library import current_library
from jobs.services.telling.errors import say_problem
from jobs.services.telling.words import say
from jobs.trade.scope import STREET, Item, PassageIn, ZoneIn
from jobs.trade.units import inches
from jobs.trade.ways_in import (
    Load,
    can_reach,
    in_the_way,
    longest_round_corner,
    machine_load,
    way_in,
    yard_graph,
)
from jobs.trade.work import Sentence
from tests.yards import expanded

WHOLE = ZoneIn("z0", "Whole yard", whole=True)
PATIO = ZoneIn("z1", "Patio", Decimal(420))
LAWN = ZoneIn("z2", "Lawn", Decimal(1800))
ZONES = (WHOLE, PATIO, LAWN)


def way(uid: str, start: str, end: str, width: int = 48, **more: int | str) -> PassageIn:
    """Return a passage so many inches wide."""
    return PassageIn(uid, f"passage {uid}", start, end, inches(width), **more)  # type: ignore[arg-type]


GATE = way("gate", STREET, "z1", 54, length_ft=40)
ARBOR = way("arbor", "z1", "z2", 60, length_ft=30)
LANE = way("lane", STREET, "z2", 120, length_ft=200)
BARROW = Load("Wheelbarrow", inches(36), 700)
LOADER = Load("Skid loader", inches(66), 7600, inches(96))


@pytest.mark.parametrize(
    ("width", "clearance", "gets_through"), [(36, 6, False), (28, 4, True), (32, 4, True)]
)
def test_a_gate_of_36_inches(width: int, clearance: int, gets_through: bool) -> None:  # noqa: FBT001 - a table
    """X04, X05: a 36-in machine with 6 in of clearance does not pass, a barrow of 28 with 4 does.

    A body that fills it exactly passes, too: the rule says at most, not less than (common practice).
    """
    gate = way("gate", STREET, "z1", 36)
    load = Load("Something", inches(width) + inches(clearance))
    assert can_reach(yard_graph(ZONES, (gate,)), "z1", load) is gets_through


def test_a_way_nobody_measured_stops_nothing_but_is_gone_by() -> None:
    """The lawn lies behind the patio and its gate, whatever the arbor between them is."""
    arbor = PassageIn("arbor", "arbor", "z1", "z2", None)
    graph = yard_graph(ZONES, (GATE, arbor))
    assert [can_reach(graph, "z2", load) for load in (BARROW, LOADER)] == [True, False]
    assert way_in(graph, "z2") == (GATE, arbor)


@pytest.mark.parametrize(
    ("first", "second", "width", "longest"),
    [
        (48, 48, 36, Decimal("63.8")),  # X06, geometry
        (48, 48, 0, Decimal("135.8")),  # X07, geometry: 2 x 48 x sqrt 2
        (60, 60, 36, Decimal("97.7")),  # geometry: 2 x 60 x sqrt 2 - 2 x 36
    ],
)
def test_longest_body_round_a_right_angle_turn(
    first: int, second: int, width: int, longest: Decimal
) -> None:
    """X06 and X07 (geometry): within 0.2 in of the least of (p cos t + q sin t - w)/(sin t cos t)."""
    found = Decimal(longest_round_corner(inches(first), inches(second), inches(width))) / 254
    assert abs(found - longest) <= Decimal("0.2")


def test_nothing_as_wide_as_a_passage_gets_round_its_corner() -> None:
    """A body as wide as the narrower passage has no room to turn at all."""
    assert longest_round_corner(inches(48), inches(60), inches(48)) == 0


def test_a_wider_second_passage_never_shortens_what_gets_round() -> None:
    """Widening one arm of the corner inch by inch only ever lets longer bodies through."""
    found = [longest_round_corner(inches(48), inches(q), inches(30)) for q in range(48, 73, 4)]
    assert found == sorted(found)


def test_the_way_in_is_the_shortest_chain_from_the_street() -> None:
    """By gate and arbor the lawn is 70 ft away, by the lane 200 ft."""
    assert way_in(yard_graph(ZONES, (GATE, ARBOR, LANE)), "z2") == (GATE, ARBOR)


def test_a_load_takes_the_way_it_passes() -> None:
    """A skid loader of 66 in does not pass the 54-in gate, so it goes by the lane."""
    assert way_in(yard_graph(ZONES, (GATE, ARBOR, LANE)), "z2", LOADER) == (LANE,)


def test_no_way_for_a_load_is_none_and_not_an_open_way() -> None:
    """Without the lane the skid loader has no way to the lawn."""
    assert way_in(yard_graph(ZONES, (GATE, ARBOR)), "z2", LOADER) is None


def test_passages_are_walked_in_both_directions() -> None:
    """With only the lane and the arbor, the patio is reached through the lawn."""
    assert way_in(yard_graph(ZONES, (ARBOR, LANE)), "z1") == (LANE, ARBOR)


def test_a_zone_nobody_drew_a_way_to_is_entered_from_the_whole_yard() -> None:
    """One gate into the whole yard is the way to every zone that has none of its own."""
    gate = way("gate", STREET, "z0", 36)
    graph = yard_graph(ZONES, (gate,))
    assert [way_in(graph, zone.uid) for zone in ZONES] == [(gate,)] * 3
    assert not can_reach(graph, "z2", LOADER)


def test_a_yard_without_passages_lies_open_to_the_street() -> None:
    """Where nobody drew a way, nothing is shut out."""
    graph = yard_graph(ZONES, ())
    assert way_in(graph, "z2") == ()
    assert can_reach(graph, "z2", LOADER)


def test_two_ways_that_share_a_gate_hang_on_the_gate_alone() -> None:
    """Two paths from patio to lawn: either may be shut, the gate may not."""
    second = way("path", "z1", "z2", 60)
    graph = yard_graph(ZONES, (GATE, ARBOR, second))
    shut = ({"arbor"}, {"path"}, {"gate"})
    assert [can_reach(graph, "z2", BARROW, closed=one) for one in shut] == [True, True, False]


def test_a_closed_zone_shuts_what_lies_behind_it() -> None:
    """X09 (truth 34): once the patio is poured no barrow gets to the lawn behind it."""
    graph = yard_graph(ZONES, (GATE, ARBOR))
    assert can_reach(graph, "z2", BARROW)
    assert not can_reach(graph, "z2", BARROW, closed={"z1"})
    assert can_reach(yard_graph(ZONES, (GATE, ARBOR, LANE)), "z2", BARROW, closed={"z1"})


def test_a_closed_passage_shuts_it_too() -> None:
    """With the arbor shut the lawn is cut off and the patio is not."""
    graph = yard_graph(ZONES, (GATE, ARBOR))
    assert not can_reach(graph, "z2", BARROW, closed={"arbor"})
    assert can_reach(graph, "z1", BARROW, closed={"arbor"})


def test_a_hose_goes_where_no_barrow_goes() -> None:
    """X10 (truth 33): a pump hose of 12 in passes the steps of a 30-in gate."""
    steps = way("gate", STREET, "z1", 30, floor="steps")
    graph = yard_graph(ZONES, (steps, ARBOR))
    hose = machine_load(current_library().machines["line-pump"])
    assert can_reach(graph, "z2", hose)
    assert not can_reach(graph, "z2", BARROW)


def tree_through(inches_wide: int) -> list[str]:
    """Return why a 36-in box does not get to the patio through a gate so wide, and how it gets in."""
    gate = PassageIn("gate", "Side gate", "", "patio", inches(inches_wide))
    tree = Item("trees", "trees", "patio", {"box-36": "1"})
    return [f"{say_problem(p)}; {p.remedy}" for p in expanded(tree, passages=(gate,)).problems]


def test_a_36_inch_box_does_not_pass_40_inches_and_is_told_so_with_the_ways_out() -> None:
    """X08 (common practice): what lifts it needs 54 in; a crane and the neighbour's gate are ways out."""
    [told] = tree_through(40)
    assert told.startswith(
        "Plant 36-in box trees, upper patio: Skid loader, narrow does not get through Side gate. "
        "Skid loader, narrow needs 54 in of clear way; Side gate has 40 in; "
    )
    for way_out in ("a crane over the house", "a gate or fence taken down", "neighbor's gate"):
        assert way_out in told


def test_steps_are_told_as_steps_however_wide_the_gate() -> None:
    """A gate of 80 in with steps: it is not width that keeps the loader out."""
    gate = PassageIn("gate", "Side gate", "", "patio", inches(80), floor="steps")
    tree = Item("trees", "trees", "patio", {"box-36": "1"})
    [problem] = expanded(tree, passages=(gate,)).problems
    assert say_problem(problem) == (
        "Plant 36-in box trees, upper patio: Skid loader, narrow does not get through Side gate. "
        "Side gate has steps, and Skid loader, narrow goes on wheels"
    )


def test_no_conflict_where_it_passes() -> None:
    """The same box passes with its loader at 54 in."""
    assert tree_through(54) == []


@pytest.mark.parametrize(
    ("passage", "told"),
    [
        (
            way("gate", STREET, "z1", 60),
            "Skid loader needs 66 in of clear way; passage gate has 60 in.",
        ),
        (
            way("gate", STREET, "z1", 80, load_lb=5000),
            "Skid loader weighs 7,600 lb; passage gate bears 5,000 lb.",
        ),
        (
            way("gate", STREET, "z1", 80, headroom=inches(84)),
            "Skid loader needs 96 in of headroom; passage gate has 84 in.",
        ),
        (
            way("gate", STREET, "z1", 80, floor="steps"),
            "passage gate has steps, and Skid loader goes on wheels.",
        ),
        (
            way("gate", STREET, "z1", 80, slope_percent=21),
            "passage gate rises 21 percent; with a load 20 is the most.",
        ),
    ],
)
def test_each_thing_that_stops_a_load_is_told(passage: PassageIn, told: str) -> None:
    """Width, weight, headroom, steps, slope: one sentence each, in both languages."""
    [found] = in_the_way(yard_graph(ZONES, (passage,)), "z1", LOADER)
    assert say(found) == told
    assert say(found, "es") != told


def test_a_floor_of_just_the_steepest_slope_is_passed() -> None:
    """20 percent still goes with a load (common practice)."""
    graph = yard_graph(ZONES, (way("gate", STREET, "z1", 80, slope_percent=20),))
    assert can_reach(graph, "z1", LOADER)


def test_the_way_with_the_fewest_obstacles_is_told() -> None:
    """A gate too narrow and stepped, a lane only too narrow: the lane is what to talk about."""
    gate = way("gate", STREET, "z1", 30, floor="steps", length_ft=10)
    lane = way("lane", STREET, "z1", 60, length_ft=300)
    assert in_the_way(yard_graph(ZONES, (gate, lane)), "z1", LOADER) == (
        Sentence(
            "way-too-narrow",
            {"load": "Skid loader", "passage": "passage lane", "needs": "66 in", "is": "60 in"},
        ),
    )
