"""Wrong guesses are counted for all processes of a house together."""

from __future__ import annotations

from datetime import timedelta

import pytest

from crews.models import Guesses
from crews.services.guesses import ALLOWED, COUNTED_FOR, count_guess, guessed
from crews.services.today import wall_now

pytestmark = pytest.mark.django_db


def test_ten_minutes_after_the_first_all_is_forgotten():
    """What was counted before is deleted, whoever guesses next."""
    count_guess("ana")
    assert count_guess("ana") == 2
    Guesses.objects.update(until=wall_now() - timedelta(seconds=1))
    assert guessed("ana") == 0
    assert count_guess("ben") == 1
    assert list(Guesses.objects.values_list("asker", "count")) == [("ben", 1)]


def test_the_time_runs_from_the_first_guess():
    """Who keeps guessing does not lock himself out for ever."""
    count_guess("ana")
    Guesses.objects.update(until=(until := wall_now() + COUNTED_FOR / 2))
    count_guess("ana")
    assert Guesses.objects.get().until == until


def test_who_has_no_guess_left_costs_one_question(django_assert_num_queries):
    """Nothing is written any more: no process waits for a guesser."""
    assert [count_guess("ana") for _ in range(ALLOWED + 1)] == list(range(1, ALLOWED + 2))
    with django_assert_num_queries(1):
        assert count_guess("ana") == ALLOWED + 1


def test_the_database_adds_up_not_the_process(django_assert_num_queries):
    """What several processes add at the same time is added to what stands there, never to what one of them read."""
    with django_assert_num_queries(5) as asked:
        count_guess("ana")
    raised = [query["sql"] for query in asked if query["sql"].startswith("UPDATE")]
    assert len(raised) == 1
    assert 'SET "count" = ("crews_guesses"."count" + 1)' in raised[0]
