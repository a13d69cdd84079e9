"""Stretches on hire, by hand: 8 June 2026 is a Monday."""

from __future__ import annotations

from datetime import date
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.scheduling.rentals import hires_of


def june(*days: int) -> list[date]:
    """Days of June 2026."""
    return [date(2026, 6, day) for day in days]


def told(days: list[date], least: int = 1) -> list[tuple[int, int, int]]:
    """First and last day and days paid of each stretch."""
    return [(it.first.day, it.last.day, it.paid) for it in hires_of(days, least=least)]


def test_nothing_needed_is_not_hired():
    """No day, no stretch."""
    assert hires_of([]) == ()


def test_days_in_a_row_are_one_stretch():
    """Monday to Wednesday: three days paid."""
    assert told(june(8, 9, 10)) == [(8, 10, 3)]


def test_by_the_day_it_goes_back_between():
    """Monday and Friday: two days paid, not five."""
    assert told(june(8, 12)) == [(8, 8, 1), (12, 12, 1)]


def test_it_is_kept_while_that_costs_no_more_than_the_least_period_again():
    """At least three days each time: Monday and Friday are 3 + 3 days apart, 5 together."""
    assert told(june(8, 12), least=3) == [(8, 12, 5)]
    assert told(june(8, 13), least=3) == [(8, 13, 6)]
    assert told(june(8, 14), least=3) == [(8, 8, 3), (14, 14, 3)]


def test_a_week_s_least_is_paid_for_one_day():
    """One day needed, seven paid."""
    assert told(june(10), least=7) == [(10, 10, 7)]


def test_days_on_which_nobody_works_with_it_are_idle():
    """Needed Thursday to Monday, worked Thursday, Friday and Monday: the weekend is idle."""
    [hire] = hires_of(june(11, 12, 13, 14, 15), worked=june(11, 12, 15))
    assert (hire.idle, hire.paid) == (tuple(june(13, 14)), 5)


def test_a_gap_it_is_kept_over_is_idle():
    """Kept from Monday to Friday for two days of work."""
    [hire] = hires_of(june(8, 12), least=3)
    assert hire.idle == tuple(june(9, 10, 11))


@pytest.mark.parametrize("least", [1, 2, 3, 7])
@given(st.sets(st.integers(1, 28), min_size=1, max_size=7))
def test_never_dearer_than_any_other_way(least, days):
    """Every way of cutting the days into stretches, tried: none is paid less."""
    needed = june(*sorted(days))
    paid = sum(hire.paid for hire in hires_of(needed, least=least))
    cuts = range(1, len(needed))
    others = []
    for count in range(len(needed)):
        for chosen in combinations(cuts, count):
            edges = [0, *chosen, len(needed)]
            parts = [needed[a:b] for a, b in pairwise(edges)]
            others.append(sum(max((p[-1] - p[0]).days + 1, least) for p in parts))
    assert paid == min(others)
