"""The ledger of a finish adds up to the day, whatever happened."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.scheduling.errors import BadWorld
from jobs.scheduling.storm.moved import RE_SEQUENCING, Ledger, Moved, Share, Step, ledger_of, split

JULY = date(2026, 7, 1)
DAYS = st.integers(-20, 40)
CAUSES = st.sampled_from(["rain", "dry-out", "decision", "delivery", "progress"])


def july(day: int) -> date:
    """A day of July 2026."""
    return date(2026, 7, day)


def test_each_cause_gets_what_it_adds_and_the_rest_is_re_sequencing():
    """Rain two days, drying one, the owner three; the plan accepted wins one back."""
    steps = [
        Step("rain", "two days", july(12)),
        Step("dry-out", "clay", july(13)),
        Step("decision", "stone", july(16)),
    ]
    assert split(july(10), steps, july(15)) == (
        Share("rain", "two days", 2),
        Share("dry-out", "clay", 1),
        Share("decision", "stone", 3),
        Share(RE_SEQUENCING, "", -1),
    )


def test_a_cause_that_moves_nothing_is_left_out():
    """Rain on a day when nobody was there."""
    assert split(july(10), [Step("rain", "", july(10))], july(10)) == ()


def test_causes_are_summed_over_all_changes():
    """Two storms and a day won back."""
    changes = [
        Moved(july(1), july(10), july(12), (Share("rain", "", 2),)),
        Moved(july(5), july(12), july(14), (Share("rain", "", 3), Share("progress", "", -1))),
    ]
    ledger = ledger_of(july(10), changes)
    assert (ledger.today, ledger.days) == (july(14), 4)
    assert ledger.by_cause() == (("rain", 5), ("progress", -1))


def test_a_change_that_was_not_stored_is_told_as_re_sequencing():
    """The second change begins two days after the first one ended."""
    changes = [
        Moved(july(1), july(10), july(12), (Share("rain", "", 2),)),
        Moved(july(5), july(14), july(15), (Share("heat", "", 1),)),
    ]
    ledger = ledger_of(july(10), changes)
    assert ledger.changes[1].shares == (Share(RE_SEQUENCING, "", 2),)
    assert ledger.days == 5


def test_shares_that_do_not_add_up_are_refused():
    """Two days moved, one told."""
    with pytest.raises(BadWorld, match="do not add up"):
        Moved(july(1), july(10), july(12), (Share("rain", "", 1),))


def test_a_ledger_with_a_hole_is_refused():
    """It begins on the 10th, its first change on the 11th."""
    change = Moved(july(1), july(11), july(12), (Share("rain", "", 1),))
    with pytest.raises(BadWorld, match="a change begins"):
        Ledger(july(10), (change,))


@st.composite
def histories(draw):
    """A first finish and plans accepted one after the other, each with causes in turn."""
    ends = first = JULY + timedelta(days=draw(DAYS))
    plans = []
    for n in range(draw(st.integers(0, 8))):
        was, finish, steps = ends, ends, []
        for _ in range(draw(st.integers(0, 5))):
            finish += timedelta(days=draw(DAYS))
            steps.append(Step(draw(CAUSES), "said", finish))
        ends = finish + timedelta(days=draw(DAYS))
        plans.append((JULY + timedelta(days=n), was, steps, ends))
    return first, plans


@settings(max_examples=200)
@given(histories())
def test_the_ledger_adds_up_on_two_hundred_random_histories(history):
    """From the first finish to today's: all shares together, and cause by cause."""
    first, plans = history
    changes = [
        Moved(accepted, was, ends, split(was, steps, ends)) for accepted, was, steps, ends in plans
    ]
    ledger = ledger_of(first, changes)
    today = plans[-1][3] if plans else first
    assert ledger.today == today
    assert sum(days for _, days in ledger.by_cause()) == (today - first).days == ledger.days
