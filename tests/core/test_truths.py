"""What goes before what in a yard, proved on every demo job and on one yard of everything."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

from jobs.trade.expand import expand_scope
from jobs.trade.scope import Expansion, Item, PassageIn, ZoneIn
from tests.truths import HOUR, TRUTHS, Checker, Truth
from tests.yards import DEMO, INCH, WHOLE, demo, library, yard_of

FRONT = ZoneIn("front", "Front court")
PATIO = ZoneIn("patio", "Upper patio")
FAR = ZoneIn("far", "Far meadow")
EVERYTHING = (
    ("turf-kill", "whole", {"area": "2000", "weed": "bermuda or other runners"}),
    ("grading", "whole", {"area": "2000", "cut": "10"}),
    ("irrigation", "whole", {"main": "100", "laterals": "150"}),
    ("sleeves", "whole", {"count": "3"}),
    ("sod", "front", {"area": "400"}),
    ("old-slab", "patio", {"area": "200"}),
    ("steps", "patio", {"risers": "4"}),
    ("flagstone-on-slab", "patio", {"area": "300", "placing": "barrow", "seal": "yes"}),
    ("seat-wall", "patio", {"length": "14", "wire": "20", "holds": "yes"}),
    ("shade-structure", "patio", {"area": "120"}),
    ("fire-feature", "patio", {"gas": "30"}),
    ("water-feature", "patio", {"area": "60"}),
    ("shrubs", "patio", {"area": "60", "five-gallon": "6"}),
    ("mulch", "patio", {"area": "60"}),
    ("concrete-slab", "far", {"area": "200", "placing": "barrow"}),
    ("paver-patio", "far", {"area": "150", "pipe": "30"}),
    ("berm", "far", {"length": "18", "width": "9", "height": "2"}),
    ("boulders", "far", {"count": "3"}),
    ("trees", "far", {"box-24": "2", "box-36": "1"}),
    ("shrubs", "far", {"area": "200", "five-gallon": "12"}),
    ("drip", "far", {"area": "200"}),
    ("meadow", "far", {"area": "200"}),
    ("seed", "far", {"area": "200"}),
    ("mulch", "far", {"area": "200"}),
    ("stone-path", "far", {"area": "100"}),
    ("lights", "whole", {"count": "6", "cable": "90"}),
)
YARDS = (*DEMO, "everything", "everything under a sheet")


@cache
def made(name: str) -> Expansion:
    """Return a demo job, or a yard of three zones in a row in which everything is built."""
    if name in DEMO:
        return demo(name)
    items = EVERYTHING
    if name.endswith("sheet"):
        cover = ("turf-kill", "far", {"area": "500", "method": "clear sheet"})
        items = (*EVERYTHING[1:], cover)
    doors = ("", "front", "patio", "far")
    passages = tuple(
        PassageIn(f"way {end}", f"Way to {end}", start, end, 120 * INCH, length_ft=20)
        for start, end in pairwise(doors)
    )
    scope = [Item(f"i{n}", what, where, told) for n, (what, where, told) in enumerate(items)]
    options = {"hoa": "yes", "permit": "yes", "fence": "60 ft"}
    zones = (WHOLE, FRONT, PATIO, FAR)
    yard = yard_of(*scope, zones=zones, passages=passages, options=options)
    return expand_scope(yard=yard, library=library())


@cache
def checker(name: str) -> Checker:
    """Return the checker of a yard."""
    return Checker(made(name))


@pytest.mark.parametrize("name", YARDS)
def test_every_truth_that_applies_holds(name: str) -> None:
    """No pair of works in the yard may be planned against a truth, nor sooner than its wait."""
    assert checker(name).broken() == []


@pytest.mark.parametrize("truth", TRUTHS, ids=lambda t: f"{t.number}-{t.left.split()[0]}")
def test_every_truth_is_met_somewhere(truth: Truth) -> None:
    """Each truth speaks of at least one pair in these yards, so that none holds for want of a case."""
    assert any(checker(name).pairs(truth) for name in YARDS)


@pytest.mark.parametrize("name", YARDS)
def test_joints_are_sawn_within_a_day(name: str) -> None:
    """Truth 35 from the other side: every pour has its joints within 24 hours."""
    works = made(name).activities
    pours = [a.key for a in works if a.key.template == "pour-slab"]
    limits = {
        link.before: link.lag.at_most
        for link in made(name).links
        if link.after.template == "saw-joints" and link.lag.at_most is not None
    }
    assert [limits.get(key) for key in pours] == [24 * HOUR for _ in pours]


@pytest.mark.parametrize("name", DEMO)
def test_the_demo_yards_have_no_problem(name: str) -> None:
    """Every answer is taken, every machine gets in, nothing is shut out."""
    assert made(name).problems == ()
