"""How strong a crew is, by hand. 0.69 is (2/3) ^ 0.9: what two do of three people's work."""

from __future__ import annotations

import pytest

from jobs.trade.strength import strength_of

ALL_DAY, LAST_TWO, LAST = 0b1111, 0b1100, 0b1000


def strength(*able: int, least: int = 1, most: int = 4, masks: tuple[int, ...] = ()):
    """The strength of a crew that works all of these days."""
    return strength_of(able, masks or (ALL_DAY,) * len(able), least=least, most=most)


def test_a_crew_that_is_always_there_loses_nothing():
    """Three people, three days."""
    found = strength(3, 3, 3)
    assert (found.people, found.lost, found.barred) == (3, (0, 0, 0), frozenset())


def test_two_of_three_lose_what_they_are_slower_by():
    """Each day 4 x (1 - 0.694) = 1.22 slots: 1.22, 2.45, 3.67 in all, so 2, then 1, then 1."""
    found = strength(3, 3, 3, 3, 2, 2, 2)
    assert found.lost == (0, 0, 0, 0, LAST_TWO, LAST, LAST)
    assert found.people == 3


def test_the_reckoning_begins_anew_after_a_full_day():
    """Short on the first and on the third day: two slots each."""
    assert strength(2, 3, 2, 3, 3, 3).lost == (LAST_TWO, 0, LAST_TWO, 0, 0, 0)


def test_below_the_least_a_day_is_barred():
    """A pour for at least three people on a day with two."""
    found = strength(4, 2, 4, least=3)
    assert (found.lost, found.barred) == ((0, ALL_DAY, 0), frozenset({1}))


def test_more_than_half_as_many_again_are_in_each_others_way():
    """Six people at a work for at most three count as three, and one who is away is not missed."""
    found = strength(6, 5, 6, most=3)
    assert (found.people, found.lost) == (3, (0, 0, 0))


def test_a_day_with_a_guest_wins_nothing():
    """Durations go by what is usual."""
    assert strength(3, 4, 3).people == 3


def test_a_guest_may_make_a_work_possible():
    """Three are needed, two are usual; on two days a third is there."""
    found = strength(2, 2, 2, 3, 3, least=3)
    assert (found.people, found.barred) == (3, frozenset({0, 1, 2}))


def test_a_day_off_is_neither_short_nor_full():
    """Friday short, the weekend off, Monday short: the second day of a row."""
    found = strength(2, 0, 0, 2, 3, 3, 3, masks=(ALL_DAY, 0, 0, *(ALL_DAY,) * 4))
    assert found.lost == (LAST_TWO, 0, 0, LAST, 0, 0, 0)


def test_half_a_day_loses_half_as_much():
    """Two slots before lunch: 0.61 slots, so one; from the end of what is worked."""
    found = strength(2, 3, 3, masks=(0b0011, ALL_DAY, ALL_DAY))
    assert found.lost == (0b0010, 0, 0)


@pytest.mark.parametrize("able", [(0, 0), (1, 1)])
def test_nobody_able_is_no_strength(able):
    """Nobody at all, and fewer than the work needs."""
    assert strength(*able, least=2) is None


def test_days_that_are_over_do_not_count():
    """There were three until yesterday; two are left from today, and that is what is usual."""
    found = strength_of([3, 3, 3, 2, 2], [ALL_DAY] * 5, least=1, most=4, since=3)
    assert (found.people, found.lost) == (2, (0,) * 5)
