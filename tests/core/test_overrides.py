"""Figures of one's own: put in where they fit, refused where loading would refuse them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.trade.errors import LibraryError, TradeError
from jobs.trade.expand import expand_scope
from jobs.trade.overrides import Own, check_own, fits, ours_of, with_overrides
from jobs.trade.scope import Item
from tests.yards import between, library, of, yard_of

SLAB = Item("slab", "concrete-slab", "patio", {"area": "400"})


def test_nothing_of_ones_own_is_the_library_as_it_is():
    """Not a copy that differs."""
    assert with_overrides(library(), []) == library()


def test_a_pace_of_ones_own_makes_its_work_longer_and_no_other():
    """Pouring at 200, 400 and 500 ft2 a day instead of 600, 800 and 1,000."""
    mine = with_overrides(library(), [Own("template pour-slab rate", ["200", "400", "500"])])
    ours = expand_scope(yard=yard_of(SLAB), library=library())
    then = expand_scope(yard=yard_of(SLAB), library=mine)
    assert of(ours, "pour-slab").spread == (Decimal("0.4"), Decimal("0.5"), Decimal("0.667"))
    assert of(then, "pour-slab").spread == (Decimal("0.8"), 1, 2)
    differ = [a.key for a, b in zip(ours.activities, then.activities, strict=True) if a != b]
    assert differ == [of(ours, "pour-slab").key]


def test_a_wait_of_ones_own_stretches_its_links():
    """Ten days from the pour to dry-fitting instead of seven."""
    stone = Item("stone", "flagstone-on-slab", "patio", {"area": "400"})
    mine = with_overrides(library(), [Own("wait W-cure figures", ["7", "10", "14"])])
    then = expand_scope(yard=yard_of(stone), library=mine)
    assert {link.lag.amount for link in between(then, "pour-slab", "dry-fit-stone")} == {10 * 1440}


def test_least_people_and_other_paces():
    """Two to pour, and footings by hand at our own pace."""
    owns = [
        Own("template pour-slab least", 2),
        Own("template dig-footings pace by hand", ["10", "20", "30"]),
    ]
    mine = with_overrides(library(), owns)
    assert mine.templates["pour-slab"].least == 2
    assert mine.templates["dig-footings"].paces[0].rate == (10, 20, 30)
    assert mine.templates["dig-footings"].rate == library().templates["dig-footings"].rate


def test_the_later_figure_wins():
    """The job's after the company's."""
    owns = [Own("template pour-slab least", 2), Own("template pour-slab least", 4)]
    assert with_overrides(library(), owns).templates["pour-slab"].least == 4


@pytest.mark.parametrize(
    ("path", "value", "reason"),
    [
        ("template pour-slab rate", ["3", "2", "1"], "3, 2, 1 do not rise"),
        ("template pour-slab rate", ["0", "2", "3"], "a rate of 0 never ends"),
        ("template pour-slab rate", ["-1", "2", "3"], "a rate of -1 never ends"),
        ("template pour-slab rate", ["1", "NaN", "3"], "'NaN' is not a number"),
        ("template pour-slab rate", ["many", "2", "3"], "'many' is not a number"),
        ("template pour-slab rate", ["1", "2"], "['1', '2'] is not three figures"),
        ("template pour-slab rate", "60", "'60' is not three figures"),
        (
            "template pour-slab rate",
            ["600", "80000", "90000"],
            "80000 is more than 20 times off the usual 800",
        ),
        ("template pour-slab rate", ["1", "800", "1000"], "1 is more than 20 times below 600"),
        ("template pour-slab least", 0, "it takes at least one person"),
        ("template pour-slab least", "two", "'two' is not a number"),
        ("template pour-slab least", 9, "9 people at least, but Concrete crew are 4"),
        ("template pour-slab colour", ["1", "2", "3"], "the library has no template pour-slab colour"),
        ("template dig-footings pace by spoon", ["1", "2", "3"], "the library has no template dig-footings pace by spoon"),
        ("template moonwalk rate", ["1", "2", "3"], "the library has no template moonwalk rate"),
        ("wait W-cure rate", ["1", "2", "3"], "the library has no wait W-cure rate"),
        ("wait W-cure figures", ["9", "8", "10"], "9, 8, 10 do not rise"),
        ("wait W-locate figures", ["1", "1", "1"], "Notice before digging is set by the state, not by us"),
        ("nonsense", 1, "the library has no nonsense"),
    ],
)  # fmt: skip
def test_what_cannot_stand_is_refused_with_the_reason(path, value, reason):
    """The same reasons as when a library file is loaded."""
    with pytest.raises(TradeError) as refused:
        check_own(library(), Own(path, value))
    assert refused.value.reason == reason
    assert refused.value.remedy
    assert fits(library(), Own(path, value)) is False


def test_every_fault_is_told_at_once():
    """Each with its path."""
    owns = [Own("template pour-slab least", 0), Own("template moonwalk least", 1)]
    with pytest.raises(LibraryError) as refused:
        with_overrides(library(), owns)
    assert [fault.where for fault in refused.value.faults] == [own.path for own in owns]


@given(
    st.sampled_from(sorted(library().templates)),
    st.lists(st.decimals("0.06", "19", places=2), min_size=3, max_size=3).map(sorted),
)
def test_any_rising_figures_near_ours_are_taken_as_they_are(key, factors):
    """What goes in comes out, for every kind of work."""
    path = f"template {key} rate"
    told = sorted(
        ours * factor for ours, factor in zip(ours_of(library(), path), factors, strict=True)
    )
    mine = with_overrides(library(), [Own(path, [str(figure) for figure in told])])
    assert mine.templates[key].rate == tuple(told)
