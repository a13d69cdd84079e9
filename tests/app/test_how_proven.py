"""How good a plan is said to be: proven best, within so many percent, or only the best that was found."""

from __future__ import annotations

from datetime import date

import pytest

from jobs.models import Plan
from jobs.scheduling.result import Status
from jobs.services.planning.how_proven import bound_words, how_proven


@pytest.mark.parametrize(
    ("status", "gap", "seconds", "said"),
    [
        (Status.PROVEN, 0.0, 4.0, "proven best in promises and finishes"),
        (Status.BOUNDED, 3.2, 4.0, "finishes within 4 % of the best possible"),
        (Status.BOUNDED, 0.0, 4.0, "finishes within 1 % of the best possible"),
        (Status.FOUND, None, 20.4, "best found in 20 s; nothing better is proven"),
        (Status.FOUND, None, 0.26, "best found in 0.3 s; nothing better is proven"),
    ],
)
def test_every_status_has_its_words(status, gap, seconds, said):
    """Rounded up, never to nothing: within 0 % would be a proof."""
    assert how_proven(Plan(status=status.value, gap=gap, seconds=seconds, late_bound=0)) == said


def test_days_late_that_no_plan_can_save_are_told():
    """Four of the six: looking longer may save two at the most."""
    plan = Plan(status=Status.FOUND.value, late=6, late_bound=4, seconds=20.4)
    said = "best found in 20 s; no plan can be less than 4 weighted days late"
    assert how_proven(plan) == said
    plan.keeps_day = date(2026, 6, 9)
    assert how_proven(plan) == said.replace("no plan", "no plan that keeps Tue 9 Jun as published")


@pytest.mark.parametrize(
    ("status", "gap", "said"),
    [
        (
            Status.PROVEN,
            0.0,
            "proven best in promises and finishes of all plans that keep Tue 9 Jun as published",
        ),
        (
            Status.BOUNDED,
            3.2,
            "finishes within 4 % of the best possible with Tue 9 Jun as published",
        ),
        (Status.FOUND, None, "best found in 4.0 s; nothing better is proven"),
    ],
)
def test_once_published_it_is_said_among_which_plans(status, gap, said):
    """Tuesday stands on phones: nothing is proven of plans that change it."""
    plan = Plan(status=status.value, gap=gap, seconds=4.0, late_bound=0, keeps_day=date(2026, 6, 9))
    assert how_proven(plan) == said


@pytest.mark.parametrize(
    ("best", "bound", "said"),
    [
        (
            [0, 40, 0],
            [0, 40, 0],
            "no plan that keeps the next working day as published can be better in promises and finishes",
        ),
        (
            [0, 41, 0],
            [0, 40, 0],
            "finishes at most 2 hours from the best possible with the next working day as published",
        ),
        (
            [2, 40, 0],
            [1, 30, 0],
            "no plan that keeps the next working day as published can be less than 1 weighted day late",
        ),
    ],
)
def test_while_it_is_being_made_with_a_plan_on_phones(best, bound, said):
    """The same of plans that keep what is told for the next working day."""
    assert bound_words(best, bound, keeps=True) == said


@pytest.mark.parametrize(
    ("best", "bound", "said"),
    [
        ([0, 40, 0], [0, 40, 0], "no plan can be better in promises and finishes"),
        (
            [0, 40, 3],
            [0, 40, 0],
            "no plan can be better in promises and finishes; one may change fewer days already told",
        ),
        ([0, 41, 0], [0, 40, 0], "finishes at most 2 hours from the best possible"),
        ([2, 40, 0], [1, 30, 0], "no plan can be less than 1 weighted day late"),
    ],
)
def test_while_it_is_being_made(best, bound, said):
    """Late, finishes, upset: what upsets the published plan is never called the best there is."""
    assert bound_words(best, bound) == said
