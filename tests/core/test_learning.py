"""Pace learned from works that are done: worked by hand, drawn towards ours while they are few."""

from __future__ import annotations

from decimal import Decimal

import pytest

from jobs.trade.durations import slots_for, with_people
from jobs.trade.errors import TradeError
from jobs.trade.learning import learn, own_rate, ratio_of

pytestmark = pytest.mark.core


def ratios(*told: str) -> list[Decimal]:
    """Ratios as written."""
    return list(map(Decimal, told))


def test_two_works_teach_nothing() -> None:
    """Three are the least (design: learned from three actuals on)."""
    assert learn(ratios("1.5", "1.5")) is None
    assert learn([]) is None


def test_three_works_weigh_as_much_as_ours() -> None:
    """Z = 3 / (3 + 3) = 1/2 (Buhlmann 1967, k = 3): 1.44 all over counts as its square root, 1.2."""
    told = learn(ratios("1.44", "1.44", "1.44"))
    assert told is not None
    assert (told.works, round(told.seen, 9), round(told.factor, 9)) == (
        3,
        Decimal("1.44"),
        Decimal("1.2"),
    )


def test_nine_works_weigh_three_times_as_much() -> None:
    """Z = 9 / 12: sixteen times as long counts as eight times (16 to the power of 3/4)."""
    told = learn(ratios(*["16"] * 9))
    assert told is not None
    assert round(told.factor, 9) == 8


def test_twice_as_long_and_half_as_long_are_as_planned() -> None:
    """The mean is taken on the scale of logarithms."""
    told = learn(ratios("2", "0.5", "1"))
    assert told is not None
    assert (round(told.seen, 9), round(told.factor, 9)) == (1, 1)


def test_the_worked_example_of_the_docstring() -> None:
    """1.2, 1.5, 1.25: 2.25 to the third root is 1.310, its square root 1.145."""
    told = learn(ratios("1.2", "1.5", "1.25"))
    assert told is not None
    assert (round(told.seen, 3), round(told.factor, 3)) == (Decimal("1.310"), Decimal("1.145"))


def test_more_people_are_taken_out_again() -> None:
    """Three people in the time that with_people gives them are as planned; the docstring's twelve are not."""
    slots = slots_for(with_people(Decimal(3), people=3, usual=2))
    assert slots == 9
    assert ratio_of(slots, Decimal(3), people=Decimal(3), usual=2) == 1
    assert round(ratio_of(12, Decimal(3), people=Decimal(3), usual=2), 3) == Decimal("1.333")


def test_what_is_done_in_its_slot_was_as_planned() -> None:
    """Forty minutes of work that took one slot: nobody knows whether it took less."""
    assert ratio_of(1, Decimal("0.083"), people=Decimal(2), usual=2) == 1


@pytest.mark.parametrize(("took", "people"), [(0, "2"), (1, "0")])
def test_nobody_learns_from_nothing(took: int, people: str) -> None:
    """No days, or no people."""
    with pytest.raises(TradeError, match="nobody learns from nothing"):
        ratio_of(took, Decimal(1), people=Decimal(people), usual=2)


@pytest.mark.parametrize(
    ("unit", "rate", "factor", "told"),
    [
        ("ft2", ("40", "60", "80"), "1.2", ("33.3", "50.0", "66.7")),
        ("days", ("0.25", "0.5", "1"), "1.2", ("0.300", "0.600", "1.20")),
        ("ft2", ("1000", "2000", "3000"), "1.1", ("909", "1818", "2727")),
    ],
)
def test_durations_grow_and_paces_shrink(
    unit: str, rate: tuple[str, ...], factor: str, told: tuple[str, ...]
) -> None:
    """Three digits are kept, whole numbers stay whole."""
    low, usual, high = map(Decimal, rate)
    assert own_rate((low, usual, high), unit, Decimal(factor)) == tuple(map(Decimal, told))
