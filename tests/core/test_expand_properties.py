"""Whatever a yard holds: keys stay, links stand once, and nothing waits in a ring."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.trade.expand import expand_scope
from jobs.trade.scope import Item, Yard
from tests.yards import GATE, INCH, MEADOW, PATIO, STEPS_DOWN, WHOLE, keys, library, yard_of

ASSEMBLIES = {
    "turf-kill": {"area": "900"},
    "grading": {"area": "800", "cut": "6"},
    "berm": {"length": "18", "width": "9", "height": "2"},
    "swale": {"area": "120", "pipe": "30"},
    "irrigation": {"main": "60", "laterals": "90"},
    "drip": {"area": "200"},
    "flagstone-on-slab": {"area": "300"},
    "paver-patio": {"area": "250"},
    "stone-path": {"area": "150"},
    "seat-wall": {"length": "14", "wire": "20"},
    "dry-wall": {"length": "20"},
    "steps": {"risers": "4"},
    "boulders": {"count": "3"},
    "trees": {"box-24": "2"},
    "shrubs": {"area": "200", "five-gallon": "12"},
    "meadow": {"area": "300"},
    "sod": {"area": "400"},
    "mulch": {"area": "300"},
    "lights": {"count": "6", "cable": "90"},
    "fire-feature": {"gas": "30"},
    "shade-structure": {"area": "120"},
    "water-feature": {"area": "60"},
}


@st.composite
def items(draw: st.DrawFn) -> tuple[Item, ...]:
    """One to seven things to build, anywhere in the yard."""
    chosen = draw(st.lists(st.sampled_from(sorted(ASSEMBLIES)), min_size=1, max_size=7))
    zones = st.sampled_from([WHOLE.uid, PATIO.uid, MEADOW.uid])
    return tuple(
        Item(f"item{n}", assembly, draw(zones), ASSEMBLIES[assembly])
        for n, assembly in enumerate(chosen)
    )


@st.composite
def yards(draw: st.DrawFn) -> Yard:
    """A yard with one gate of some width in front of it."""
    gate = replace(GATE, width=draw(st.sampled_from([34, 46, 60, 120])) * INCH)
    return yard_of(*draw(items()), passages=(gate, STEPS_DOWN))


@given(yards(), st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_reordering_and_renaming_keep_every_key(yard: Yard, dice: object) -> None:
    """Items and zones in another order, under other names: the same things, by the same keys."""
    shuffled = list(yard.items)
    dice.shuffle(shuffled)  # type: ignore[attr-defined]
    renamed = replace(
        yard,
        items=tuple(replace(item, name=f"Thing {n}") for n, item in enumerate(shuffled)),
        zones=tuple(replace(zone, name=f"Place {zone.uid}") for zone in reversed(yard.zones)),
        passages=tuple(reversed(yard.passages)),
    )
    one, two = (expand_scope(yard=y, library=library()) for y in (yard, renamed))
    assert keys(one) == keys(two)
    assert {(link.before, link.after, link.relation, link.lag) for link in one.links} == {
        (link.before, link.after, link.relation, link.lag) for link in two.links
    }


@given(yards(), st.data())
@settings(max_examples=25, deadline=None)
def test_editing_there_and_back_gives_the_same_activities(yard: Yard, data: st.DataObject) -> None:
    """A quantity made thrice as large and made small again: equal in every field."""
    n = data.draw(st.integers(0, len(yard.items) - 1))
    item = yard.items[n]
    grown = {key: str(Decimal(value) * 3) for key, value in item.answers.items()}
    there = replace(
        yard, items=(*yard.items[:n], replace(item, answers=grown), *yard.items[n + 1 :])
    )
    first = expand_scope(yard=yard, library=library())
    expand_scope(yard=there, library=library())
    again = expand_scope(yard=yard, library=library())
    assert again == first


@given(yards())
@settings(max_examples=60, deadline=None)
def test_links_stand_once_in_no_ring_and_nothing_dangles(yard: Yard) -> None:
    """One link a pair and relation, no ring, one beginning, every counted work leads to the end."""
    made = expand_scope(yard=yard, library=library())
    ends = [(link.before, link.after, link.relation) for link in made.links]
    assert len(ends) == len(set(ends))
    graph = nx.DiGraph((link.before, link.after) for link in made.links)
    assert nx.is_directed_acyclic_graph(graph)
    assert [a.key.template for a in made.activities if not graph.pred[a.key]] == ["design-sign-off"]
    [end] = [a.key for a in made.activities if a.key.template == "walk-through"]
    counted = {a.key for a in made.activities if a.counts}
    assert counted - nx.ancestors(graph, end) == {end}


@given(yards())
@settings(max_examples=40, deadline=None)
def test_dropping_implied_links_changes_no_order(yard: Yard) -> None:
    """No plain link is implied by the finish-to-start links that are left."""
    made = expand_scope(yard=yard, library=library())
    ties = [x for x in made.links if x.relation == "finish-to-start" and x.lag.amount >= 0]
    graph = nx.DiGraph((link.before, link.after) for link in ties)
    needed = nx.transitive_reduction(graph).edges
    plain = {(x.before, x.after) for x in ties if x.lag.amount == 0 and x.lag.at_most is None}
    assert plain - set(needed) == set()
