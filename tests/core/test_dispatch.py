"""The quick builder: who comes first, who waits for whom, and what is refused; dates on the fingers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.placing.priorities import RULES
from jobs.scheduling.result import Score, Status
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.world import Done, Keepout, Machine, Pin, Place
from jobs.trade.work import Clock, Shift, Tread
from tests.worlds import (
    ALWAYS,
    DAY,
    EVENING,
    FIRST,
    JUNE,
    LAST,
    SECOND,
    THIRD,
    at,
    crew,
    job,
    june,
    patio,
    plan,
    tie,
    week,
    work,
    world,
)

FAR = frozenset[str]()


def spans(it, **options):
    """First and last slot of each work of the built plan, which must be sound."""
    result = build_plan(it, **options)
    assert judge_plan(it, result.plan).breaches == ()
    return {name: (at.start, at.end) for name, at in result.plan.placements.items()}


class TestPatio:
    """A whole little job."""

    def test_the_only_soonest_plan_is_found(self):
        """And proven to be the best."""
        it, placed = patio()
        result = build_plan(it)
        assert result.plan == placed
        assert (result.score, result.status) == (Score(late=3, finish=15 * 6 + 2), Status.PROVEN)

    @pytest.mark.parametrize("rule", RULES)
    def test_every_rule_builds_it(self, rule):
        """One pass each, told by name."""
        it, placed = patio()
        result = build_plan(it, rules=(rule,))
        assert (result.plan, result.rule, result.tried) == (placed, rule, 1)

    def test_nothing_to_plan_is_planned(self):
        """An empty world."""
        assert build_plan(world()).plan == plan()


class TestSharing:
    """Crews, machines, zones, yards and ways in are never overbooked."""

    def test_the_heavier_promise_goes_first(self):
        """North has two works of a day, both promised for Mon 8: elm weighs three times oak."""
        it = world(
            work("dig oak", 4),
            work("dig elm", 4, job="elm"),
            jobs={
                "oak": job(promise=june(8, LAST)),
                "elm": job("elm", promise=june(8, LAST), weight=3),
            },
        )
        assert spans(it) == {
            "dig elm": (june(8), june(8, LAST)),
            "dig oak": (june(9), june(9, LAST)),
        }
        assert build_plan(it).score.late == 1

    def test_the_crew_that_is_done_first_is_taken(self):
        """South needs two slots where north needs four."""
        it = world(replace(work("dig"), crews={"north": 4, "south": 2}))
        assert build_plan(it).plan["dig"] == at(june(8), june(8, SECOND), "south")

    def test_a_crew_changes_yards_at_lunch(self):
        """One slot at oak, then elm: not before 11:30."""
        it = world(work("dig", 1), work("plant", 1, job="elm"))
        assert spans(it, rules=("early start",))["plant"] == (june(8, THIRD), june(8, THIRD))

    def test_a_far_yard_costs_a_slot(self):
        """Two slots at oak, elm is far: the drive takes the slot after lunch."""
        it = world(
            work("dig", 2),
            work("plant", 1, job="elm"),
            jobs={"oak": job(near=FAR), "elm": job("elm", near=FAR)},
        )
        assert spans(it, rules=("early start",))["plant"] == (june(8, LAST), june(8, LAST))

    def test_a_second_saw_is_taken_while_the_first_is_out(self):
        """Two saws, three works: the third waits."""
        cuts = [
            work(f"cut {name}", 4, name, machines={"saw": 1})
            for name in ("north", "south", "stone")
        ]
        result = build_plan(world(*cuts))
        assert result.plan["cut north"].machines == (("saw", 0),)
        assert result.plan["cut south"].machines == (("saw", 1),)
        assert result.plan["cut stone"].start == june(9)

    def test_machines_that_are_alike_are_counted(self):
        """Of twelve saws six and six are out at once: more choices than anybody could look at one by one."""
        it = world(
            work("cut oak", 4, "north", machines={"saw": 6}),
            work("cut elm", 4, "south", job="elm", machines={"saw": 6}),
            machines={"saw": Machine("saw", "saw", (ALWAYS,) * 12)},
        )
        assert spans(it) == dict.fromkeys(("cut oak", "cut elm"), (june(8), june(8, LAST)))

    def test_a_half_day_logged_in_two_yards_is_for_neither(self):
        """North was in both on the first slot of Monday: what else it does begins at 11:30."""
        it = world(
            work("dig", 1, done=Done(june(8), june(8), "north")),
            work("plant", 1, job="elm", done=Done(june(8), june(8), "north")),
            work("grade", 1),
            now=june(8, SECOND),
        )
        assert build_plan(it).plan["grade"].start == june(8, THIRD)

    def test_a_machine_that_is_down_makes_work_longer(self):
        """The loader is down on Tue 9: eight slots from Mon 8 end on Wed 10."""
        down = ALWAYS & ~(0b111111 << june(9, 0))
        it = world(
            work("dig", 8, machines={"loader": 1}),
            machines={"loader": Machine("loader", "loader", (down,))},
        )
        assert spans(it) == {"dig": (june(8), june(10, LAST))}

    def test_a_zone_for_one_crew_takes_one(self):
        """Two crews, one patio."""
        it = world(work("dig", 4, place="patio"), work("lay", 4, "south", place="patio"))
        assert spans(it)["lay"] == (june(9), june(9, LAST))

    def test_a_yard_for_one_crew_takes_one(self):
        """Two crews, two zones, room for one in the yard."""
        it = world(
            work("dig", 4, place="patio"),
            work("lay", 4, "south", place="lawn"),
            jobs={"oak": job(crews=1)},
        )
        assert spans(it)["lay"] == (june(9), june(9, LAST))

    def test_a_narrow_way_is_shared_by_slots(self):
        """Sixty percent each through the gate: one after the other."""
        it = world(
            work("dig", 2, hauls={"gate": 60}),
            work("lay", 2, "south", hauls={"gate": 60}),
            places={"gate": Place("gate", "gate", crews=None)},
        )
        assert spans(it)["lay"] == (june(8, THIRD), june(8, LAST))

    def test_ground_at_rest_is_left_alone(self):
        """Poured Mon 8 till 15:30, kept clear for two days: Wed 10 15:30 is over on Thu 11."""
        it = world(
            work("pour", 4, keepouts=(Keepout("patio", 2 * DAY, Tread.FOOT),)),
            work("lay", 1, "south", treads={"patio": Tread.FOOT}, pin=Pin(not_before=june(9))),
            ties=(),
        )
        assert spans(it)["lay"] == (june(11), june(11))

    def test_evening_work_stands_inside_longer_day_work(self):
        """North digs Mon and Tue by day; the lights are aimed on Monday evening."""
        long_days = week(positions=(FIRST, SECOND, THIRD, LAST, EVENING))
        it = world(
            work("dig", 8),
            work("aim", 1, shift=Shift.EVENING),
            crews={"north": crew("north", long_days)},
        )
        assert spans(it) == {
            "dig": (june(8), june(9, LAST)),
            "aim": (june(8, EVENING), june(8, EVENING)),
        }


class TestWaiting:
    """Links with their waits; what must be followed soon comes late enough."""

    def test_the_pour_waits_for_those_who_saw_the_joints(self):
        """South is off till Thu 11 7:00: the pour must end after Wed 10 7:00, so Wed 9:00."""
        away = week() & ~((1 << june(11, 0)) - 1)
        it = world(
            work("pour", 4, "stone"),
            work("saw", 1, "south"),
            ties=(tie("pour", "saw", at_most=DAY),),
            crews={"stone": crew("stone"), "south": crew("south", away)},
        )
        assert spans(it) == {
            "pour": (june(9, SECOND), june(10, FIRST)),
            "saw": (june(11), june(11)),
        }

    def test_the_pour_is_taken_out_again_if_its_follower_is_busy(self):
        """South, who saws within a day, is on a heavy job till Wed 10; the pour ends that day."""
        it = world(
            work("pour", 4, "stone"),
            work("saw", 1, "south"),
            work("plant", 12, "south", job="elm"),
            ties=(tie("pour", "saw", at_most=DAY),),
            jobs={"oak": job(), "elm": job("elm", promise=june(10, LAST), weight=9)},
        )
        assert spans(it, rules=("weighted slack",)) == {
            "plant": (june(8), june(10, LAST)),
            "saw": (june(11), june(11)),
            "pour": (june(9, SECOND), june(10, FIRST)),
        }

    def test_requests_wait_until_they_are_needed(self):
        """Digging cannot start before Thu 18; the call, two full days before, is made on Fri 12.

        Called on Mon 15, Tue and Wed are the two days; one working day is kept in hand.
        """
        it = world(
            work("call", 1, "", request=True),
            work("dig", 1, pin=Pin(not_before=june(18))),
            ties=(tie("call", "dig", 2, Clock.BUSINESS),),
            jobs={"oak": job(open=week())},
        )
        assert spans(it) == {
            "call": (june(12, LAST), june(12, LAST)),
            "dig": (june(18), june(18)),
        }

    def test_work_under_way_goes_on_at_once(self):
        """Six slots left on Wed 10, with the crew that began; the next work waits for it."""
        it = world(
            work("dig", 6, done=Done(june(8), None, "north")),
            work("base", 1),
            ties=(tie("dig", "base"),),
            now=june(10),
        )
        assert spans(it) == {
            "dig": (june(8), june(11, SECOND)),
            "base": (june(11, THIRD), june(11, THIRD)),
        }

    def test_work_under_way_keeps_its_machine(self):
        """North has had the loader since Mon 8 and needs it for two more slots on Wed 10."""
        it = world(
            work("dig", 2, machines={"loader": 1}, done=Done(june(8), None, "north")),
            work("grade", 1, "south", machines={"loader": 1}),
            now=june(10),
        )
        assert build_plan(it).plan["dig"].machines == (("loader", 0),)
        assert spans(it)["grade"] == (june(10, THIRD), june(10, THIRD))

    def test_one_go_work_waits_for_a_day_that_is_long_enough(self):
        """Three slots in one go after one slot of another work: not after lunch, but next day."""
        it = world(work("form", 2), work("pour", 3, one_go=True), ties=(tie("form", "pour"),))
        assert spans(it)["pour"] == (june(9), june(9, THIRD))


class TestRefused:
    """What cannot be planned is refused, and says who is to blame."""

    def test_a_date_by_hand_that_cannot_be_kept(self):
        """Eight slots by Mon 8 at night."""
        it = world(work("dig", 8, pin=Pin(not_after=june(8, LAST))))
        with pytest.raises(NoPlan) as refusal:
            build_plan(it)
        assert refusal.value.culprits == ("dig",)

    def test_two_dates_by_hand_on_one_crew(self):
        """Both by Mon 8 at night: the links alone do not tell, trying every place does."""
        pin = Pin(not_after=june(8, LAST))
        it = world(work("dig", 3, pin=pin), work("lay", 3, pin=pin))
        with pytest.raises(NoPlan) as refusal:
            build_plan(it)
        assert refusal.value.culprits == ("lay",)

    def test_a_crew_fixed_by_hand_that_is_not_able(self):
        """South cannot dig."""
        with pytest.raises(NoPlan):
            build_plan(world(work("dig", 1, "north", pin=Pin(crew="south"))))

    def test_a_load_that_never_fits_through(self):
        """All of the gate is wanted, and it gives sixty percent."""
        gate = {"gate": Place("gate", "gate", crews=None, share=60)}
        with pytest.raises(NoPlan) as refusal:
            build_plan(world(work("dig", 1, hauls={"gate": 100}), places=gate))
        assert refusal.value.culprits == ("dig",)

    def test_more_days_than_are_planned(self):
        """Twenty working days in four weeks, and one slot more."""
        with pytest.raises(NoPlan) as refusal:
            build_plan(world(work("dig", 81)))
        assert refusal.value.culprits == ("dig",)

    def test_work_fixed_to_end_soon_is_placed_first(self):
        """The planting comes first by every rule but must give way to what ends on Mon 8."""
        it = world(
            work("plant", 8, job="elm"),
            work("dig", 4, pin=Pin(not_after=june(8, LAST))),
            jobs={"oak": job(), "elm": job("elm", promise=june(9, LAST), weight=9)},
        )
        assert spans(it)["dig"] == (june(8), june(8, LAST))


class TestLent:
    """A work that another crew is lent to."""

    def test_the_day_off_of_who_is_lent_closes_that_work_only(self):
        """South is off on Mon 8: north digs then, and lays with south on Tue 9; the same yard, crew and shift."""
        off = week(off=(date(2026, 6, 8),))
        crews = {"north": crew("north"), "south": crew("south", off)}
        it = world(work("dig", 1), work("lay", 1, lent="south"), crews=crews)
        assert spans(it) == {"dig": (june(8), june(8)), "lay": (june(9), june(9))}


class TestAccount:
    """The result can account for itself."""

    def test_a_stop_ends_after_the_pass_under_way(self):
        """Asked once, after the first pass."""
        it = world(work("dig oak", 4), work("dig elm", 3, job="elm"))
        assert build_plan(it, stop=lambda: True).tried == 1

    def test_a_crew_with_too_much_to_do_raises_the_bound(self):
        """Three works of a day that only north can do: Wed 10 at the soonest, links or no links."""
        result = build_plan(world(*(work(name, 4) for name in ("dig", "base", "lay"))))
        assert result.bound == Score(late=0, finish=june(10, LAST))
        assert result.status is Status.PROVEN

    def test_another_seed_may_shake_otherwise_but_never_worse_than_the_rules(self):
        """Shaken passes only replace a plan they beat."""
        it, _ = patio()
        assert build_plan(it, seed=7).score == build_plan(it, seed=8).score


def test_the_axis_of_these_tests_begins_on_a_monday():
    """Dates here are counted from Mon 8 June 2026."""
    assert JUNE.day(0).isoweekday() == 1
