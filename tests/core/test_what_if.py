"""What if there were more hands, machines or days? What that buys, on the fingers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from jobs.scheduling.asking.what_if import (
    not_worse,
    what_it_buys,
    with_crew,
    with_days,
    with_machine,
    with_start,
)
from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.search.dispatch import build_plan
from tests.worlds import LAST, Size, job, june, tie, work, world, worlds

MON, FRI, SAT = date(2026, 6, 8), date(2026, 6, 12), 5
LATER = date(2026, 7, 3)


def bought(it, changed):
    """Working days sooner by job, and weighted days late saved."""
    before = build_plan(it).plan
    after = not_worse(changed, build_plan(changed), before)
    difference = what_it_buys(it, before, changed, after)
    return {row.job: row.days for row in difference.jobs}, difference.late


def two_yards(**changes):
    """Four days of digging for the north crew in each of two yards."""
    return world(work("dig", 16), work("dig elm", 16, job="elm"), **changes)


class TestChanges:
    """One kind each."""

    def test_one_more_crew_works_the_other_yard(self):
        """Eight days one after the other become four side by side."""
        it = two_yards()
        days, _ = bought(it, with_crew(it, "north", MON, LATER))
        assert sorted(days.values()) == [0, 4]

    def test_one_more_crew_on_thursdays_only_comes_on_thursdays(self):
        """Thursday 11 June and Thursday 18: it can do a day's work each."""
        it = two_yards()
        changed = with_crew(it, "north", MON, LATER, {3})
        days = [june(11), june(11, LAST), june(18)]
        assert [changed.crews["north+"].open >> slot & 1 for slot in days] == [1, 1, 1]
        assert changed.crews["north+"].open >> june(12) & 1 == 0

    def test_a_second_loader_for_a_week(self):
        """Two crews that wait for each other's loader work side by side."""
        loader = {"loader": 1}
        it = world(
            work("dig", 8, machines=loader), work("haul", 8, "south", machines=loader, job="elm")
        )
        days, _ = bought(it, with_machine(it, "loader", MON, FRI))
        assert sorted(days.values()) == [0, 2]

    def test_saturdays_keep_a_promise(self):
        """Six days of digging promised for Sunday 14: one weighted day late on Monday, none with a Saturday."""
        jobs = {"oak": job(promise=june(14, LAST), weight=3)}
        it = world(work("dig", 24), jobs=jobs)
        days, late = bought(it, with_days(it, ["north"], MON, LATER, SAT))
        assert (days, late) == ({"oak": 1.0}, 3)

    def test_a_holiday_stays_one(self):
        """No Saturday is worked that is a holiday."""
        it = world(work("dig"), holidays=frozenset({date(2026, 6, 13)}))
        opened = with_days(it, ["north"], MON, LATER, SAT).crews["north"].open
        assert (opened >> june(13) & 1, opened >> june(20) & 1) == (0, 1)

    def test_an_earlier_start(self):
        """Ours from Monday 8 instead of Thursday 11."""
        it = world(work("dig", 4), jobs={"oak": job(release=june(11))})
        assert bought(it, with_start(it, "oak", MON))[0] == {"oak": 3.0}

    def test_a_later_start_costs(self):
        """And the other way round."""
        it = world(work("dig", 4))
        assert bought(it, with_start(it, "oak", date(2026, 6, 11)))[0] == {"oak": -3.0}

    def test_a_job_that_is_only_in_one_world(self):
        """A bid that is won has a finish and buys nothing."""
        it = world(work("dig", 4))
        more = two_yards()
        difference = what_it_buys(it, build_plan(it).plan, more, build_plan(more).plan)
        assert [(row.job, row.before is None) for row in difference.jobs] == [
            ("oak", False),
            ("elm", True),
        ]

    def test_what_has_begun_stays_with_its_crew(self):
        """One more crew takes over nothing that is under way, and links hold as they did."""
        it = world(work("dig", 4), work("lay", 4), ties=(tie("dig", "lay"),))
        assert bought(it, with_crew(it, "north", MON, LATER))[0] == {"oak": 0}


@settings(deadline=None, suppress_health_check=list(HealthCheck))
@given(worlds(Size(works=5, slots=4)), st.data())
def test_more_is_never_worse(it, data):
    """A crew, a machine or days more: sound plans, and never more lateness, nor the same with later finishes."""
    first, last = it.axes["America/Chicago"].first, it.axes["America/Chicago"].day(200)
    crew = data.draw(st.sampled_from(sorted(it.crews)))
    changed = data.draw(
        st.sampled_from(
            [
                with_crew(it, crew, first, last),
                with_machine(it, "loader", first, last),
                with_days(it, [crew], first, last, SAT),
            ]
        )
    )
    near = {name: replace(yard, near=None) for name, yard in it.jobs.items()}
    it, changed = replace(it, jobs=near), replace(changed, jobs=near)
    try:
        before, after = build_plan(it).plan, build_plan(changed)
    except NoPlan:
        assume(False)
        raise
    kept = not_worse(changed, after, before)
    assert judge_plan(changed, kept).sound
    assert judge_plan(changed, kept).score <= judge_plan(it, before).score
