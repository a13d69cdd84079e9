"""The judge on a whole little job, on what is planned at all, and on the score.

All dates can be counted on the fingers: 8 June 2026 is a Monday, a day has four day slots.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.result import Score
from jobs.scheduling.weights import LONE
from tests.judging import breaches, moved, sentences
from tests.worlds import (
    EVENING,
    FIRST,
    JUNE,
    LAST,
    THIRD,
    at,
    crew,
    job,
    june,
    patio,
    plan,
    tie,
    work,
    world,
)


class TestPatio:
    """A whole little job, right and then wrong in one place."""

    def test_right_plan_is_sound(self):
        """Every link, wait, hold, shift and day off is kept."""
        verdict = judge_plan(*patio())
        assert verdict.breaches == ()
        assert verdict.sound

    def test_score_counts_days_late_by_weight_and_the_last_slot(self):
        """Promised Mon 22, done Tue 23: one day at weight 3; Tue 23 is day 15, second day slot 2."""
        assert judge_plan(*patio()).score == Score(late=3, finish=15 * 6 + 2)

    def test_stone_before_the_cure_is_over_is_refused(self):
        """Poured till Thu 11 13:30, seven days: not before Thu 18 13:30; the crew is at work then."""
        it, placed = patio()
        it = replace(it, crews={**it.crews, "stone": crew("stone")})
        early = moved(placed, set_stone=at(june(18, THIRD), june(22, LAST), "stone"))
        assert breaches(it, early) == [
            ("wait", ("pour slab", "set stone")),
            ("keepout", ("pour slab", "set stone")),
        ]
        assert sentences(it, early) == [
            "set stone begins Thu 18 Jun, 11:30 am, but after pour slab it must wait "
            "until Thu 18 Jun, 1:30 pm.",
            "set stone is on patio from Thu 18 Jun, 11:30 am, but after pour slab it must be "
            "kept clear until Thu 18 Jun, 1:30 pm.",
        ]
        sharp = moved(placed, set_stone=at(june(18, LAST), june(23, FIRST), "stone"))
        assert breaches(it, sharp) == []

    def test_joints_sawn_a_day_later_are_too_late(self):
        """Poured till 13:30 on Thursday, 24 hours: Friday evening is too late."""
        it, placed = patio()
        late = moved(placed, saw_joints=at(june(12, EVENING), june(12, EVENING), "south"))
        assert breaches(it, late) == [("at-most", ("pour slab", "saw joints"))]
        assert sentences(it, late) == [
            "saw joints begins Fri 12 Jun, 8:00 pm, but because of pour slab "
            "it must begin by Fri 12 Jun, 1:30 pm."
        ]


class TestPresence:
    """Every work once, nothing else, within the days that are planned."""

    def test_a_work_left_out_is_missed(self):
        """A plan without a place for a work is no plan."""
        it = world(work("dig"), work("base"))
        assert breaches(it, plan(dig=at(june(8), june(8)))) == [("missing", ("base",))]
        assert sentences(it, plan(dig=at(june(8), june(8)))) == [
            "base is not planned. Plan again, or give it a place."
        ]

    def test_a_work_nobody_asked_for_is_refused(self):
        """A stray placement is named."""
        it = world(work("dig"))
        placed = plan(dig=at(june(8), june(8)), moat=at(june(9), june(9)))
        assert breaches(it, placed) == [("unknown", ("moat",))]

    @pytest.mark.parametrize(
        "placed",
        [at(-6, -6), at(JUNE.size, JUNE.size), at(june(9), JUNE.size), at(june(9), june(8))],
    )
    def test_slots_off_the_axis_are_refused(self, placed):
        """Before its begin, past its end, across its end, or back to front: nothing more is said."""
        it = world(work("dig"), work("base"), ties=(tie("dig", "base"), tie("base", "dig")))
        assert breaches(it, plan(dig=placed, base=at(june(8), june(8)))) == [("off-axis", ("dig",))]

    def test_an_empty_world_has_an_empty_plan(self):
        """Nothing to do is done at once."""
        verdict = judge_plan(world(), plan())
        assert (verdict.breaches, verdict.score) == ((), Score(late=0, finish=0))


class TestScore:
    """Late days by weight first, then last counted slots; a visit for one slot counts as untidy."""

    def test_return_visits_do_not_count(self):
        """The walk-through on Monday ends the job; weeding on Friday does not."""
        it = world(work("walk"), work("weed", counts=False))
        placed = plan(walk=at(june(8), june(8)), weed=at(june(12), june(12)))
        assert judge_plan(it, placed).score == Score(late=0, finish=june(8), untidy=2 * LONE)

    def test_late_days_are_calendar_days(self):
        """Promised Friday 12, done Monday 15: three days, at weight 2 six; elm is early: none."""
        it = world(
            work("dig", 1),
            work("plant", 1, "south", job="elm"),
            jobs={
                "oak": job(promise=june(12, FIRST), weight=2),
                "elm": job("elm", promise=june(20, LAST)),
            },
        )
        placed = plan(dig=at(june(15), june(15)), plant=at(june(9), june(9), "south"))
        assert judge_plan(it, placed).score == Score(
            late=6, finish=june(15) + june(9), untidy=2 * LONE
        )

    def test_the_promised_day_lasts_to_its_evening(self):
        """Promised for Friday's first slot, done with Friday's last: not late."""
        it = world(work("dig"), jobs={"oak": job(promise=june(12, FIRST))})
        assert judge_plan(it, plan(dig=at(june(12, LAST), june(12, LAST)))).score == Score(
            late=0, finish=june(12, LAST), untidy=LONE
        )
