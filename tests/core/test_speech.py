"""Quantities, spans and counts as people say them on a job site."""

from __future__ import annotations

from decimal import Decimal

import pytest

from jobs.services.telling.speech import counted, say_people, spoken_days, spoken_quantity


@pytest.mark.parametrize(
    ("amount", "said"),
    [
        ("2.25", "2.3 tons"),
        ("2.35", "2.4 tons"),
        ("99.95", "100.0 tons"),
        ("12", "12 tons"),
        ("120.5", "121 tons"),
        ("121.5", "122 tons"),
        ("-2.25", "-2.3 tons"),
        ("12345.5", "12,346 tons"),
    ],
)
def test_half_of_what_is_said_is_rounded_up(amount, said):
    """Never to the even figure, which nobody on a site expects."""
    assert spoken_quantity(Decimal(amount), "tons") == said


@pytest.mark.parametrize(
    ("days", "said"),
    [
        ("0.1", "2 hours"),
        ("0.375", "half a day"),
        ("0.625", "¾ day"),
        ("1.125", "1¼ days"),
        ("6.875", "7 days"),
    ],
)
def test_half_a_quarter_day_is_rounded_up(days, said):
    """Half of two hours more counts as two hours more."""
    assert spoken_days(Decimal(days)) == said


def test_one_is_told_in_the_singular():
    """And what is not whole in the plural."""
    assert [say_people(n) for n in (0, 1, 2)] == ["0 people", "1 person", "2 people"]
    assert [counted(n, "day") for n in (1, 1.5, 30)] == ["1 day", "1.5 days", "30 days"]
