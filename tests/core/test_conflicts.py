"""Wishes that cannot all be kept: a smallest set of them, by name, and what is proven of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from jobs.scheduling.asking.conflicts import find_conflict
from jobs.scheduling.asking.wishes import Kind, wishes_of, world_with
from jobs.scheduling.world import Pin
from jobs.services.telling.words import say
from tests.oracle import plan_below
from tests.worlds import DAY, HOUR, LAST, Size, job, june, patio, tie, work, world, worlds

TINY = Size(works=3, slots=3, days=8, begun=False)


def told(conflict):
    """The wishes in English."""
    return [say(wish.sentence) for wish in conflict.wishes]


class TestNamed:
    """Small yards, dates on the fingers."""

    def test_nothing_stands_against_the_patio(self):
        """All its at-mosts can be kept."""
        assert find_conflict(patio()[0]) is None

    def test_a_last_day_before_the_first_day_of_what_comes_before(self):
        """Digging not before Thursday 11 June, laying done by Wednesday 10; mulch has nothing to do with it."""
        it = world(
            work("dig", 4, pin=Pin(not_before=june(11))),
            work("lay", 4, pin=Pin(not_after=june(10, LAST))),
            work("mulch", 1, pin=Pin(not_before=june(9), not_after=june(30))),
            ties=(tie("dig", "lay"),),
        )
        conflict = find_conflict(it)
        assert told(conflict) == [
            "dig (oak street) begins no earlier than Thu 11 Jun, by hand.",
            "lay (oak street) ends no later than Wed 10 Jun, by hand.",
            "lay (oak street) waits for dig, by hand.",
        ]
        assert (conflict.proven, conflict.smallest) == (True, True)
        assert conflict.soonest == ("", "2026-06-12", "")

    def test_a_ring_of_least_and_most(self):
        """Rolled within a day of laying, laying within a day of the pour, but seven days after it by rule."""
        ruled = replace(tie("pour", "roll", 7 * DAY), rule="cure")
        it = world(
            work("pour"), work("lay"), work("roll"),
            ties=(tie("pour", "lay", at_most=DAY), tie("lay", "roll", at_most=36 * HOUR), ruled),
        )  # fmt: skip
        conflict = find_conflict(it)
        assert [wish.kind for wish in conflict.wishes].count(Kind.AT_MOST) == 2
        assert "lay (oak street) comes at most 24 hours after pour." in told(conflict)
        assert "roll (oak street) comes at most 36 hours after lay." in told(conflict)
        assert conflict.proven
        assert set(conflict.refusal.culprits) == {"pour", "lay", "roll"}

    def test_one_crew_for_two_last_days(self):
        """Four slots each by Monday night: the network has room, the one crew has not; all is tried."""
        pin = Pin(not_after=june(8, LAST))
        it = world(work("dig", 4, pin=pin), work("lay", 4, pin=pin))
        conflict = find_conflict(it)
        assert [wish.about for wish in conflict.wishes] == ["dig", "lay"]
        assert (conflict.proven, conflict.smallest) == (True, True)

    def test_what_was_only_not_found_is_said_so(self):
        """Nine works for one crew are too many to try through."""
        pin = Pin(not_after=june(9, LAST))
        it = world(*[work(f"w{n}", 1, pin=pin) for n in range(9)])
        conflict = find_conflict(it)
        assert len(conflict.wishes) == 9
        assert (conflict.proven, conflict.smallest) == (False, True)

    def test_a_promise_is_a_wish_if_asked(self):
        """Two weeks of work, promised for Friday 12 June."""
        jobs = {"oak": job(promise=june(12, LAST)), "elm": job("elm", promise=june(26, LAST))}
        it = world(work("dig", 40), work("lay", 4, job="elm"), jobs=jobs)
        assert find_conflict(it) is None
        assert told(find_conflict(it, promises=True)) == [
            "oak street is done by Fri 12 Jun, as promised."
        ]

    def test_a_crew_that_is_not_able_is_a_wish(self):
        """Fixed for the stone crew, which cannot do it."""
        assert told(find_conflict(world(work("dig", pin=Pin(crew="stone"))))) == [
            "dig (oak street) is done by stone crew, by hand."
        ]

    def test_where_no_wish_is_to_blame_none_is_named(self):
        """Forty days of work do not fit into four weeks."""
        conflict = find_conflict(world(work("dig", 160, pin=Pin(not_before=june(9)))))
        assert (conflict.wishes, conflict.proven) == ((), True)
        assert "cannot be ended within the days that are planned" in conflict.refusal.reason

    def test_stopped_early_it_does_not_claim_to_be_smallest(self):
        """What is left so far contains the conflict."""
        pin = Pin(not_after=june(8, LAST))
        it = world(work("dig", 4, pin=pin), work("lay", 4, pin=pin))
        conflict = find_conflict(it, stop=lambda: True)
        assert (len(conflict.wishes), conflict.smallest) == (2, False)

    def test_wishes_speak_both_languages(self):
        """One of each kind."""
        it = world(
            work("dig", pin=Pin(1, 90, "north")), work("lay"),
            ties=(tie("dig", "lay", at_most=3 * DAY), tie("lay", "dig", at_most=HOUR)),
            jobs={"oak": job(promise=90)},
        )  # fmt: skip
        wishes = wishes_of(it, promises=True)
        assert {wish.kind for wish in wishes} == set(Kind)
        assert all(say(wish.sentence, language) for wish in wishes for language in ("en", "es"))


@pytest.mark.parametrize("promises", [False, True])
def test_all_wishes_make_the_world_itself(promises):
    """Nothing is lost on the way; without promises as wishes the world is the same."""
    it = patio()[0]
    same = world_with(it, wishes_of(it, promises=promises))
    assert same.ties == it.ties
    assert (same == it) is not promises


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(worlds(TINY), st.data())
def test_the_set_is_impossible_and_every_smaller_one_is_not(it, data):
    """Every start of every work tried by another hand: no plan with all, some plan without any one."""
    last = data.draw(st.sampled_from([7, 13, 19, 25]))
    names = data.draw(st.sets(st.sampled_from(sorted(it.works)), min_size=1))
    pinned = {
        name: replace(w, pin=replace(w.pin, not_after=last)) if name in names else w
        for name, w in it.works.items()
    }
    hard = replace(it, works=pinned)
    conflict = find_conflict(hard, promises=data.draw(st.booleans()))
    assume(conflict is not None)
    assert plan_below(world_with(hard, conflict.wishes), None) is None
    assert conflict.proven
    assert conflict.smallest
    for n in range(len(conflict.wishes)):
        less = conflict.wishes[:n] + conflict.wishes[n + 1 :]
        assert plan_below(world_with(hard, less), None) is not None
