"""Don't build yourself out: what shuts a way in waits for the loads that must pass, or both are named."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from jobs.services.telling.words import say
from jobs.trade.expand import expand_scope
from jobs.trade.precedence import Rule
from jobs.trade.scope import Expansion, Item, PassageIn
from tests.yards import GATE, INCH, STEPS_DOWN, expanded, library, yard_of

if TYPE_CHECKING:
    from jobs.trade.work import Link

TREE = Item("tree", "trees", "patio", {"box-24": "1"})
GRADE = Item("grade", "grading", "meadow", {"area": "400"})
DRAIN = Item("drain", "gravel-drain", "patio", {"length": "40"})
BERM = Item("mound", "berm", "meadow", {"length": "20", "width": "10", "height": "2"})
SIDE = PassageIn("lane", "Lane", "", "meadow", 96 * INCH, length_ft=200)


def rule(before: str, after: str) -> Rule:
    """Return a rule of a yard's own."""
    return Rule("odd", (before,), (after,), "job", "An odd wish.", "CP")


def with_rule(odd: Rule, *items: Item) -> Expansion:
    """Return the expansion of a yard with one rule more."""
    stubborn = replace(library(), rules=(*library().rules, odd))
    return expand_scope(yard=yard_of(*items), library=stubborn)


def of_rule(made: Expansion, name: str) -> list[Link]:
    """Return the links of a rule."""
    return [link for link in made.links if link.rule == name]


def test_the_grader_behind_it_passes_before_the_tree_is_planted() -> None:
    """A boxed tree on the patio shuts it to machines; the meadow behind is graded first."""
    [link] = of_rule(expanded(TREE, GRADE), "ways-in-before-closing")
    assert (link.before.template, link.after.template) == ("rough-grade", "plant-box-24")
    assert link.why.values == {
        "before": "Rough grade, meadow",
        "after": "Plant 24-in box trees, upper patio",
    }


def test_a_way_round_needs_no_order() -> None:
    """With a lane to the meadow the tree may stand when it likes."""
    passages = (GATE, STEPS_DOWN, SIDE)
    assert of_rule(expanded(TREE, GRADE, passages=passages), "ways-in-before-closing") == []


def test_a_tree_that_must_come_first_shuts_the_grader_out_and_both_are_named() -> None:
    """The owner wants the tree first: told with both names and the ways round."""
    made = with_rule(rule("plant-box-24", "rough-grade"), replace(TREE), GRADE)
    [problem] = [p for p in made.problems if "shuts" in p.reason]
    assert problem.where == "grade"
    assert problem.reason == (
        "Plant 24-in box trees, upper patio shuts Upper patio to what Rough grade, meadow still has to "
        "bring through, and must itself come first"
    )
    assert problem.remedy.startswith("ways round: pump it, lift it over the house by crane")


def test_a_load_that_follows_an_open_trench_waits_until_it_is_filled() -> None:
    """The mound behind the drain comes after the trench, so after its backfilling too."""
    made = with_rule(rule("trench", "build-berm"), DRAIN, BERM)
    [link] = [
        link
        for link in of_rule(made, "ways-in-after-opening")
        if link.after.template == "build-berm"
    ]
    assert link.before.template == "backfill-trench"


def test_a_chute_needs_the_truck_at_the_form() -> None:
    """A truck is 10 ft wide with its mirrors: a 60-in gate stops it, a hose passes."""
    slab = Item("slab", "concrete-slab", "patio", {"placing": "chute"})
    [problem] = expanded(slab).problems
    assert problem.reason == (
        "Pour and finish concrete, upper patio: Truck chute does not get through Side gate"
    )
    assert list(map(say, problem.obstacles)) == [
        "Truck chute needs 10 ft of clear way; Side gate has 60 in."
    ]
    assert expanded(replace(slab, answers={"placing": "pump"})).problems == ()


def test_a_barrow_goes_half_full_up_a_steep_way() -> None:
    """Mulch by barrow over 10 percent takes twice the trips that it takes on the level.

    9.26 yd3 are 83.3 barrows in 3.09 slots, 27.0 a slot; over 30 ft each blocks the gate for
    30/130 + 30/200 = 0.381 of 100 minutes: 10.3 percent, up to 11; twice 20.6, up to 21.
    """
    mulch = Item("mulch", "mulch", "patio", {"area": "1000"})
    level = expanded(mulch, passages=(GATE, STEPS_DOWN))
    steep = expanded(mulch, passages=(replace(GATE, slope_percent=10), STEPS_DOWN))
    shares = [
        next(a.hauls["gate"] for a in made.activities if a.key.template == "spread-mulch")
        for made in (level, steep)
    ]
    assert shares == [11, 21]
