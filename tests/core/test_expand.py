"""A tiny yard unfolds into works with names, places, holds, links with reasons, and told problems."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import networkx as nx
import pytest

from jobs.trade.concrete import CURE_DAYS
from jobs.trade.errors import CycleError, ScopeError
from jobs.trade.expand import expand_scope
from jobs.trade.precedence import Rule
from jobs.trade.scope import Expansion, Item, PassageIn, ZoneIn
from jobs.trade.turf import GROWING_F
from jobs.trade.work import Clock, Hold, Lag, Need, Relation, Sentence, Tread
from tests.yards import (
    GATE,
    INCH,
    MEADOW,
    PATIO,
    STEPS_DOWN,
    WHOLE,
    between,
    expanded,
    library,
    of,
    yard_of,
)

SLAB = Item("slab", "flagstone-on-slab", "patio", {"placing": "pump"})
BERM = Item("mound", "berm", "meadow", {"length": "20", "width": "10", "height": "2"})
PLUGS = Item("plugs", "meadow", "meadow")
KILL = Item("kill", "turf-kill", "whole", {"area": "1000"})
DAY = 24 * 60
NARROW = replace(GATE, width=46 * INCH)
TIGHT = replace(GATE, width=34 * INCH)


def before(expansion: Expansion, one: str, two: str) -> bool:
    """Return True if a work is bound, however far, to come before another."""
    graph = nx.DiGraph((link.before.template, link.after.template) for link in expansion.links)
    return nx.has_path(graph, one, two)


def test_a_work_is_named_with_its_place() -> None:
    """ "Set stone, upper patio": what and where; of the whole yard only what."""
    made = expanded(SLAB)
    assert of(made, "set-stone").name == "Set stone, upper patio"
    assert of(made, "clean-up").name == "Clean up"


def test_an_item_s_own_name_stands_for_its_zone() -> None:
    """Two patios in one zone are told apart by the names somebody gave them."""
    made = expanded(replace(SLAB, name="Breakfast corner"))
    assert of(made, "set-stone").name == "Set stone, breakfast corner"


def test_quantities_pace_and_people_come_from_the_library() -> None:
    """420 ft2 of stone: seven days for two, one at least not enough."""
    stone = of(expanded(SLAB), "set-stone")
    assert (stone.quantity.amount, stone.quantity.unit) == (Decimal("420.000"), "ft2")
    assert [f"{days:f}" for days in stone.spread] == ["5.250", "7.000", "10.500"]
    assert (stone.skill, stone.usual, stone.least) == ("stone", 2, 2)


def test_what_comes_with_every_job_hangs_on_what_is_built() -> None:
    """Boulders on bare ground: no turf is lifted, so no old lines; nothing watered, no controller."""
    made = expanded(Item("rocks", "boulders", "meadow", {"count": "3"}))
    always = [a.key.template for a in made.activities if a.key.item == "job"]
    assert sorted(always) == [
        "check-30-day",
        "clean-up",
        "clear-site",
        "design-sign-off",
        "lay-out",
        "order-long-lead",
        "owner-choices",
        "protect-site",
        "punch-list",
        "restore-way-in",
        "set-up-site",
        "start-walk",
        "walk-through",
    ]


def test_sprays_put_setting_up_off_only_where_nothing_waits_for_it() -> None:
    """A lawn alone is set up after its last spray; lights elsewhere are not held up by the lawn."""
    kill = replace(KILL, zone="patio")
    lights = Item("lights", "lights", "meadow", {"count": "4", "cable": "60"})
    alone, beside = expanded(kill), expanded(kill, lights)
    assert before(alone, "spray-turf-2", "set-up-site")
    assert not before(beside, "spray-turf-2", "set-up-site")
    assert before(beside, "set-up-site", "lay-light-cable")


def test_marks_are_asked_for_where_anything_digs() -> None:
    """A mound and stone need no marks; a pit does."""
    lights = Item("lights", "lights", "patio", {"count": "4", "cable": "60"})
    assert "locate-notice" not in {a.key.template for a in expanded(lights).activities}
    assert "locate-notice" in {a.key.template for a in expanded(SLAB).activities}


def test_the_state_says_how_long_the_notice_is() -> None:
    """Three business days in North Carolina, two in Colorado."""
    for state, days in (("NC", 3), ("CO", 2)):
        [link] = between(expanded(SLAB, state=state), "locate-notice", "dig-out")
        assert link.lag == Lag(days, Clock.BUSINESS, wait="W-locate")


def test_a_state_not_looked_up_is_told() -> None:
    """Check L24 (common practice): at least three business days, and flagged."""
    made = expanded(SLAB, state="XX")
    assert between(made, "locate-notice", "dig-out")[0].lag.amount == 3
    assert made.assumptions[0].key == "takeoff-state-unknown"


def test_lines_under_water_ask_for_longer_notice() -> None:
    """South Carolina: ten business days instead of three (S.C. Code 58-36-60); North Carolina makes no difference."""
    waits = [
        between(expanded(SLAB, state=state, options={"water": wet}), "locate-notice", "dig-out")[0].lag.amount
        for state, wet in (("SC", "no"), ("SC", "yes"), ("NC", "yes"))
    ]  # fmt: skip
    assert waits == [3, 10, 3]


def test_what_is_dug_by_hand_beside_a_mark_is_told() -> None:
    """24 in on each side in California (Gov. Code 4216.2); only where anything digs."""
    told = {"state": "California", "inches": 24}
    assert Sentence("takeoff-beside-marks", told) in expanded(SLAB, state="CA").assumptions
    lights = Item("lights", "lights", "patio", {"count": "4", "cable": "60"})
    assert "takeoff-beside-marks" not in {s.key for s in expanded(lights, state="CA").assumptions}


@pytest.mark.parametrize(("placing", "reach"), [("chute", 16), ("pump", None)])
def test_a_way_longer_than_concrete_comes_is_told(placing, reach) -> None:
    """30 ft from the street: a chute reaches 16 ft, a pump about 200 (common practice)."""
    slab = Item("slab", "flagstone-on-slab", "patio", {"placing": placing})
    told = [s.values["reach"] for s in expanded(slab).assumptions if s.key == "takeoff-too-far"]
    assert told == ([] if reach is None else [reach])


def test_stone_waits_two_weeks_for_its_slab() -> None:
    """The usual wait before stone is fourteen days on the wall clock, whose rule and reason are kept."""
    [link] = between(expanded(SLAB), "pour-slab", "set-stone")
    assert link.lag == Lag(14 * DAY, Clock.ELAPSED, wait="W-stone")
    assert (link.rule, link.relation) == ("slab-before-stone", Relation.FINISH_START)
    assert link.why.key == "library-rule"


def test_joints_are_sawn_within_a_day_of_their_pour() -> None:
    """Four hours after the pour at least, 24 at most."""
    [link] = between(expanded(SLAB), "pour-slab", "saw-joints")
    assert link.lag == Lag(4 * 60, at_most=DAY)


def test_each_pour_has_its_own_joints_and_follows_the_one_before() -> None:
    """1,400 ft2 in two pours: the first pour's saw waits for the first pour only."""
    made = expanded(replace(SLAB, answers={"area": "1400", "placing": "pump"}))
    sawn = between(made, "pour-slab", "saw-joints")
    assert [(link.before.ordinal, link.after.ordinal) for link in sawn] == [(0, 0), (1, 1)]
    [pours] = between(made, "pour-slab", "pour-slab")
    assert (pours.before.ordinal, pours.after.ordinal, pours.rule) == (0, 1, "pour-by-pour")


def test_a_slow_cement_cures_twice_as_long() -> None:
    """Type II: the slab is kept clear of barrows and stone for 14 days, not 7 (UFGS 03301A)."""
    made = expanded(replace(SLAB, answers={"placing": "pump", "cement": "Type II"}))
    [link] = between(made, "pour-slab", "dry-fit-stone")
    assert link.lag == Lag(14 * DAY, wait="W-cure-slow")
    assert hold(made, "W-cure-slow").minutes == 14 * DAY


def hold(made: Expansion, wait: str, place: str = "patio") -> Hold:
    """Return the hold that the pour leaves on a place for a wait."""
    [found] = [h for h in of(made, "pour-slab").holds if (h.wait, h.place) == (wait, place)]
    return found


def test_a_fresh_slab_keeps_everybody_off_for_a_day() -> None:
    """Its zone and the passages at it: nobody for 24 hours but who saws and covers it."""
    made = expanded(SLAB)
    for place in ("patio", "gate", "down"):
        assert hold(made, "W-foot", place).keeps_out is Tread.FOOT
    assert hold(made, "W-foot").exempt == {"saw-joints", "cure-slab"}


def test_a_young_slab_bears_no_loader_for_seven_days_and_three_quarters_of_strength() -> None:
    """Check M12: day 8.28 at 73 F is 11,923.2 minutes, up."""
    assert hold(expanded(SLAB), "W-machine") == Hold("patio", 11_924, Tread.MACHINE, "W-machine")


# -- ways in ---------------------------------------------------------------------------


def test_a_load_treads_on_every_zone_and_passage_of_its_way_in() -> None:
    """The mound behind the patio is built by a loader through gate, patio and the way down."""
    assert of(expanded(BERM), "build-berm").treads == dict.fromkeys(
        ("meadow", "patio", "gate", "down"), Tread.MACHINE
    )


def test_people_on_foot_are_not_bound_to_the_way_in() -> None:
    """Planters walk; they tread only on their own zone."""
    assert of(expanded(PLUGS), "plant-groundcover").treads == {"meadow": Tread.FOOT}


def test_a_haul_takes_a_share_of_each_passage() -> None:
    """Spoil by loader: 16.2 loose yd3 in 1.3 slots of 100 worked minutes, 5 ft3 a bucket.

    16.2 x 27 / 5 / 1.296 = 67.5 trips a slot; over 30 ft one blocks the gate for
    30/180 + 30/220 = 0.303 minutes, so a slot holds 330: 20.5 percent, up to 21.
    """
    assert of(expanded(SLAB), "haul-soil").hauls == {"gate": 21}


def test_pumped_concrete_hauls_nothing_and_barrows_do() -> None:
    """The hose takes no room in the gate; barrows take theirs and tread on the way in."""
    pumped = of(expanded(SLAB), "pour-slab")
    wheeled = of(expanded(replace(SLAB, answers={"placing": "barrow"})), "pour-slab")
    assert (pumped.hauls, pumped.treads) == ({}, {"patio": Tread.FOOT})
    assert wheeled.treads == {"patio": Tread.BARROW, "gate": Tread.BARROW}
    assert list(wheeled.hauls) == ["gate"]


def test_the_machine_that_gets_in_is_taken() -> None:
    """Through 46 in the 48-in excavator does not pass, the micro one does; through 60 in both do."""
    for gate, machine in ((NARROW, "micro-excavator"), (GATE, "mini-excavator")):
        made = expanded(SLAB, passages=(gate, STEPS_DOWN))
        assert of(made, "dig-out").machines == (Need(machine),)


def test_our_own_machine_comes_before_one_on_hire() -> None:
    """Rough grading prefers a skid loader, but ours is a stand-on: half its pace, and no hire."""
    grade = Item("grade", "grading", "meadow", {"area": "4500"})
    ours = expanded(grade, owned=frozenset({"loader-stand-on"}))
    hired = expanded(grade, owned=frozenset({"mixer"}))
    assert of(ours, "rough-grade").machines == (Need("loader-stand-on"),)
    assert of(ours, "rough-grade").spread.typical == Decimal("2.000")
    assert of(hired, "rough-grade").machines == (Need("skid-loader"),)
    assert [s.key for s in hired.assumptions] == ["takeoff-hired"]


def test_hands_do_what_no_machine_gets_in_for_and_it_is_told() -> None:
    """Through 34 in no trencher passes: the trench is dug by hand at 60 ft a day."""
    drain = Item("drain", "gravel-drain", "patio", {"length": "60"})
    made = expanded(drain, passages=(TIGHT, STEPS_DOWN))
    trench = of(made, "trench")
    assert (trench.machines, trench.spread.typical) == ((), Decimal("1.000"))
    told = next(s for s in made.assumptions if s.values["work"] == "Dig trenches")
    assert (told.key, told.values["passage"]) == ("takeoff-by-hand", "Side gate")


def test_a_large_tree_that_gets_nowhere_is_a_problem_with_ways_round() -> None:
    """Check X08 (common practice): a 36-in box through 40 in, no crane."""
    trees = Item("trees", "trees", "patio", {"box-36": "1"})
    gate = replace(GATE, width=40 * INCH)
    made = expanded(trees, passages=(gate, STEPS_DOWN))
    [problem] = made.problems
    assert (problem.where, problem.key) == ("trees", "")
    assert "Side gate" in problem.reason
    assert "crane" in problem.remedy
    craned = expanded(trees, passages=(gate, STEPS_DOWN), options={"crane": "yes"})
    assert craned.problems == ()
    assert of(craned, "plant-box-36").machines == (Need("crane"),)


def test_the_haul_behind_a_slab_comes_before_its_pour() -> None:
    """Check X09 (common practice): the only way to the meadow leads over the patio to be poured."""
    swale = Item("swale", "swale", "meadow", {"area": "100"})
    made = expanded(SLAB, swale)
    [link] = [
        link for link in between(made, "haul-soil", "pour-slab") if link.before.item == "swale"
    ]
    assert (link.before.zone, link.after.zone) == ("meadow", "patio")


def test_the_far_slab_is_poured_first_unless_a_pump_reaches() -> None:
    """Checks X09, X10 (common practice): by barrow the far pour comes first; a hose unlocks it."""
    far = Item("far", "concrete-slab", "meadow", {"placing": "barrow"})
    near = replace(SLAB, answers={"placing": "barrow"})
    [link] = between(expanded(near, far), "pour-slab", "pour-slab")
    assert (link.before.item, link.after.item, link.rule) == ("far", "slab", "far-pour-first")
    pumped = replace(far, answers={"placing": "pump"})
    assert between(expanded(near, pumped), "pour-slab", "pour-slab") == []


def test_zones_that_shut_each_other_out_are_told_with_both_names() -> None:
    """Soil cut on the patio is heaped behind it, but the mound's loader crosses the patio to be laid.

    Here a rule of the yard's own says that pavers come before the mound; then neither can be first.
    """
    odd = Rule(
        "odd", ("lay-pavers",), ("build-berm",), "job", "An odd wish.", "CP", Relation.FINISH_START
    )
    stubborn = replace(library(), rules=(*library().rules, odd))
    pavers = Item("pavers", "paver-patio", "patio")
    made = expand_scope(yard=yard_of(pavers, BERM), library=stubborn)
    told = [problem.reason for problem in made.problems]
    assert any(
        reason.startswith("Build the mounds, meadow should come before Lay pavers")
        for reason in told
    )


def test_a_ring_of_rules_is_named() -> None:
    """Joints before stone and stone before joints: the ring is told by its members."""
    odd = Rule("odd", ("point-joints",), ("set-stone",), "item", "Upside down.", "CP")
    ringed = replace(library(), rules=(*library().rules, odd))
    with pytest.raises(CycleError) as ring:
        expand_scope(yard=yard_of(SLAB), library=ringed)
    assert {member.split("/")[1] for member in ring.value.members} == {"point-joints", "set-stone"}


# -- the whole -------------------------------------------------------------------------


def test_a_wrong_answer_is_a_problem_and_the_rest_still_unfolds() -> None:
    """The berm has no height; the slab is planned all the same."""
    made = expanded(SLAB, Item("mound", "berm", "meadow", {"length": "20", "width": "10"}))
    assert [(p.where, p.key, p.reason) for p in made.problems] == [
        ("mound", "height", "Height is missing")
    ]
    assert of(made, "pour-slab").key.item == "slab"


def test_no_link_stands_twice_and_nothing_dangles() -> None:
    """One link a pair and relation; every work has a forerunner and leads to the walk-through."""
    made = expanded(SLAB, BERM, PLUGS, KILL)
    ends = [(link.before, link.after, link.relation) for link in made.links]
    assert len(ends) == len(set(ends))
    graph = nx.DiGraph((link.before, link.after) for link in made.links)
    first = [a.key.template for a in made.activities if not graph.pred[a.key]]
    last = [a.key.template for a in made.activities if not graph.succ[a.key]]
    assert first == ["design-sign-off"]
    assert [key for key in last if key != "walk-through"] == ["check-30-day"]


def test_activities_come_in_the_order_of_building() -> None:
    """Whatever the order of the items, no work stands before one it waits for."""
    made = expanded(PLUGS, BERM, SLAB, KILL)
    place = {activity.key: n for n, activity in enumerate(made.activities)}
    late = [link for link in made.links if place[link.before] > place[link.after]]
    assert late == []


def test_a_link_that_others_imply_is_left_out() -> None:
    """Base before forms before pour: "base before pour" says nothing new."""
    made = expanded(SLAB)
    assert between(made, "spread-base", "pour-slab") == []
    assert before(made, "spread-base", "pour-slab")


def test_a_yard_names_its_zones_before_it_is_expanded() -> None:
    """A passage to nowhere and a yard without its whole are refused."""
    with pytest.raises(ScopeError, match="there is no zone 'pond'"):
        yard_of(passages=(PassageIn("p", "Path", "", "pond", INCH),))
    with pytest.raises(ScopeError, match="exactly one zone that is the whole yard"):
        yard_of(zones=(PATIO, MEADOW), passages=())
    with pytest.raises(ScopeError, match="the zone 'patio' stands 2 times"):
        yard_of(zones=(WHOLE, PATIO, ZoneIn("patio", "Again")), passages=())


def test_a_wrong_answer_of_the_yard_is_a_problem_of_the_yard() -> None:
    """ "Maybe" is no answer to whether the neighbourhood must approve."""
    [problem] = expanded(SLAB, options={"hoa": "maybe"}).problems
    assert (problem.where, problem.key) == ("yard", "hoa")


def test_what_a_permit_brings_with_it() -> None:
    """Filing, review before the footings, and a final inspection before the walk-through."""
    wall = Item("wall", "seat-wall", "patio", {"length": "14"})
    made = expanded(wall, options={"permit": "yes", "hoa": "yes"})
    assert before(made, "permit-submit", "dig-footings")
    assert before(made, "hoa-approval", "permit-submit")
    assert before(made, "final-inspection", "walk-through")


def test_the_choices_of_assemblies_are_those_the_knowledge_speaks_of() -> None:
    """Every lawn that waits for warmer days is on offer, every cement has its days of cure."""
    offered = {
        (a.key, ask.key): ask.choices for a in library().assemblies.values() for ask in a.asks
    }
    assert set(GROWING_F) <= set(offered["turf-kill", "weed"])
    assert set(offered["concrete-slab", "cement"]) == set(CURE_DAYS)
    assert set(offered["concrete-slab", "placing"]) <= set(library().placings)
