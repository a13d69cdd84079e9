"""What is untidy, counted by hand and by the judge; June 2026 begins on a Monday, the yards on Monday 8."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.paths.early import early_dates
from jobs.scheduling.placing.board import Board
from jobs.scheduling.placing.units import placements_on
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Plan
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.search.search import Search
from jobs.scheduling.search.tidying import tidy
from jobs.scheduling.untidy import Untidy, untidy_of
from jobs.scheduling.weights import HOP, IDLE, LONE, PLANTING, POUR, RETURN
from jobs.scheduling.world import Machine
from jobs.trade.work import Shift
from tests.core.test_make_plan import patient
from tests.worlds import (
    ALWAYS,
    EVENING,
    FIRST,
    LAST,
    SECOND,
    THIRD,
    at,
    crew,
    june,
    plan,
    tie,
    week,
    work,
    world,
    worlds,
)


def day(number, crew="north", *machines):
    """A whole day of June."""
    return at(june(number), june(number, LAST), crew, *machines)


def rented(least):
    """A trencher that is hired for so many days at least, and a loader of our own."""
    return {
        "trencher": Machine("trencher", "trencher", (ALWAYS,), (least,)),
        "loader": Machine("loader", "loader", (ALWAYS,)),
    }


def counted(made, placed):
    """What is untidy, after the judge has said that it comes to the same points."""
    found = untidy_of(made, placed.placements)
    verdict = judge_plan(made, placed)
    assert (verdict.breaches, verdict.score.untidy) == ((), found.points)
    return found


class TestCrews:
    """Crews to and fro."""

    def test_a_crew_that_changes_yards_at_lunch_hops_once(self):
        """Oak in the morning, elm in the afternoon, two slots each."""
        made = world(work("dig", 2), work("trench", 2, job="elm"))
        placed = plan(dig=at(june(8), june(8, SECOND)), trench=at(june(8, THIRD), june(8, LAST)))
        assert counted(made, placed) == Untidy(hops=1)

    def test_a_crew_that_comes_back_after_a_day_elsewhere_returns_once(self):
        """Oak on Monday, elm on Tuesday, oak on Wednesday."""
        made = world(work("dig", 4), work("trench", 4, job="elm"), work("plant", 4))
        placed = plan(dig=day(8), trench=day(9), plant=day(10))
        assert counted(made, placed) == Untidy(returns=1)

    def test_after_more_than_five_days_it_is_no_return(self):
        """Oak on Monday, elm on Tuesday, oak on Monday again, seven days later."""
        made = world(work("dig", 4), work("trench", 4, job="elm"), work("plant", 4))
        placed = plan(dig=day(8), trench=day(9), plant=day(15))
        assert counted(made, placed) == Untidy()

    def test_a_day_off_between_is_no_return(self):
        """Oak on Monday and Wednesday, nothing on Tuesday: it has been nowhere else."""
        made = world(work("dig", 4), work("plant", 4))
        assert counted(made, plan(dig=day(8), plant=day(10))) == Untidy()

    def test_a_visit_for_one_slot_is_alone(self):
        """One slot on Monday; on Tuesday two works of a slot keep each other company."""
        made = world(work("dig"), work("rake"), work("plant"))
        placed = plan(
            dig=at(june(8), june(8)),
            rake=at(june(9), june(9)),
            plant=at(june(9, SECOND), june(9, SECOND)),
        )
        assert counted(made, placed) == Untidy(lone=1)

    def test_an_evening_is_alone_by_its_nature(self):
        """Lights are aimed in the dark: one slot, and no fault of the plan."""
        made = world(work("aim", shift=Shift.EVENING), crews=evening_crews())
        assert counted(made, plan(aim=at(june(8, EVENING), june(8, EVENING)))) == Untidy()

    def test_what_is_past_is_not_counted(self):
        """On Tuesday morning nobody can mend Monday's hop."""
        made = world(work("dig", 2), work("trench", 2, job="elm"))
        placed = plan(dig=at(june(8), june(8, SECOND)), trench=at(june(8, THIRD), june(8, LAST)))
        assert untidy_of(replace(made, now=june(9)), placed.placements) == Untidy()


def evening_crews():
    """A crew that is there all the time."""
    return {"north": replace(world().crews["north"], open=ALWAYS)}


class TestMachines:
    """Rented machines that stand idle."""

    @pytest.mark.parametrize(("least", "idle"), [(1, ()), (2, ()), (5, (("trencher", 3),))])
    def test_days_between_two_uses_of_one_hire_are_idle(self, least, idle):
        """Monday and Friday: hired for five days at least it stays, and three days pass; else it goes back."""
        made = world(
            work("dig", 4, machines={"trencher": 1}),
            work("pipe", 4, machines={"trencher": 1}),
            machines=rented(least),
        )
        placed = plan(dig=day(8, "north", ("trencher", 0)), pipe=day(12, "north", ("trencher", 0)))
        assert counted(made, placed) == Untidy(idle=idle)

    def test_a_machine_of_our_own_is_never_idle(self):
        """The loader waits in the shed for nothing."""
        made = world(work("dig", 8, machines={"loader": 1}), machines=rented(5))
        placed = plan(dig=at(june(11), june(12, LAST), "north", ("loader", 0)))
        assert counted(made, placed) == Untidy()

    def test_a_weekend_on_hire_is_idle(self):
        """Friday and Monday with the trencher: Saturday and Sunday are paid for, too."""
        made = world(work("dig", 8, machines={"trencher": 1}), machines=rented(1))
        placed = plan(dig=at(june(12), june(15, LAST), "north", ("trencher", 0)))
        assert counted(made, placed) == Untidy(idle=(("trencher", 2),))


class TestCustoms:
    """Customs of the trade."""

    @pytest.mark.parametrize(
        ("number", "first", "holidays", "pours"),
        [
            (12, THIRD, (), 1),
            (12, FIRST, (), 0),
            (11, THIRD, (), 0),
            (11, FIRST, (date(2026, 6, 12),), 1),
            (12, FIRST, (date(2026, 6, 15),), 1),
            (10, FIRST, (date(2026, 6, 12),), 0),
        ],
    )
    def test_no_pour_on_a_friday_afternoon_or_before_a_holiday(
        self, number, first, holidays, pours
    ):
        """Friday 12 in the afternoon; Thursday before a holiday on Friday; Friday before one on Monday."""
        made = world(
            work("pour", 2, "stone", template="pour-slab", one_go=True),
            holidays=frozenset(holidays),
        )
        placed = plan(pour=at(june(number, first), june(number, first + 1), "stone"))
        assert counted(made, placed) == Untidy(pours=pours)

    @pytest.mark.parametrize(
        ("number", "first", "planting"),
        [(9, FIRST, 0), (9, THIRD, 1), (11, FIRST, 1), (11, THIRD, 2)],
    )
    @pytest.mark.parametrize("template", ["plant-box-24", "lay-sod"])
    def test_trees_and_sod_early_in_the_week_and_the_day(self, template, number, first, planting):
        """Tuesday morning; Tuesday afternoon; Thursday morning; Thursday afternoon, which is late twice."""
        made = world(work("plant", 2, template=template))
        placed = plan(plant=at(june(number, first), june(number, first + 1)))
        assert counted(made, placed) == Untidy(planting=planting)


def test_points_are_counts_by_weight():
    """One of each, and two idle days of two machines."""
    one = Untidy(1, 1, 1, 1, 1, (("saw", 1), ("trencher", 1)))
    assert one.points == HOP + RETURN + LONE + POUR + PLANTING + 2 * IDLE


def tidied(made, placed, stop=None):
    """The plan after the last pass, sound, with promises, upset and finishes no worse."""
    ready = Ready(made)
    early = early_dates(ready)
    board = Board(ready, early)
    for i in ready.order:
        assert i in ready.fixed or board.put_where(i, placed[ready.works[i].id])
    search = Search(board, 0)
    tidy(search, stop=stop)
    better = Plan({ready.works[i].id: it for i, it in placements_on(board).items()})
    before, after = judge_plan(made, placed), judge_plan(made, better)
    assert after.breaches == ()
    assert (*after.score.main, after.score.untidy) <= (*before.score.main, before.score.untidy)
    assert all(now <= was for now, was in zip(after.score.main, before.score.main, strict=True))
    assert after.score.untidy == untidy_of(made, better.placements).points
    return better


class TestLastPass:
    """Tidier, and nothing of more weight the worse for it."""

    def test_crews_that_cross_exchange_an_afternoon(self):
        """North goes from oak to elm at lunch and south from elm to oak: each may as well stay."""
        both = "north south"
        made = world(
            work("dig", 2, both),
            work("rake", 2, both),
            work("trench", 2, both, job="elm"),
            work("pipe", 2, both, job="elm"),
            ties=(tie("dig", "rake"), tie("trench", "pipe")),
        )
        morning, noon = (june(8), june(8, SECOND)), (june(8, THIRD), june(8, LAST))
        crossed = plan(
            dig=at(*morning),
            pipe=at(*noon),
            trench=at(*morning, "south"),
            rake=at(*noon, "south"),
        )
        assert counted(made, crossed) == Untidy(hops=2)
        assert counted(made, tidied(made, crossed)) == Untidy()

    def test_a_crew_that_goes_on_weeks_later_is_looked_at_there(self):
        """North goes from oak to elm on Tuesday 9.

        South could begin to dig at oak in its stead, but is back for the last slot on 29 June only, when it goes on to elm.
        However early the pass is ended, south has not begun.
        """
        made = world(
            replace(work("dig", 2), crews={"north": 2, "south": 3}),
            work("plant", 2, job="elm"),
            work("rake", 2, "south", job="elm"),
            work("lights", 4, "stone"),
            crews={
                "north": crew("north", week() & ((1 << june(10)) - (1 << june(9)))),
                "south": crew("south", week() & ~((1 << june(29)) - (1 << june(9, THIRD)))),
                "stone": crew("stone"),
            },
        )
        placed = plan(
            dig=at(june(9), june(9, SECOND)),
            plant=at(june(9, THIRD), june(9, LAST)),
            rake=at(june(29, THIRD), june(29, LAST), "south"),
            lights=at(june(30), june(30, LAST), "stone"),
        )
        assert counted(made, placed) == Untidy(hops=1)
        for asked in range(12):
            left = iter(range(asked))
            better = tidied(made, placed, lambda left=left: next(left, None) is None)
            assert better["dig"].end < june(29)

    def split(self, **changes):
        """North digs at oak on Monday, trenches at elm on Tuesday, plants at oak on Wednesday; both end on Friday."""
        made = world(
            work("dig", 4),
            work("trench", 4, job="elm"),
            work("plant", 4),
            work("pave", 4, "stone"),
            work("wall", 4, "south", job="elm"),
            ties=(tie("dig", "plant"),),
            **changes,
        )
        placed = plan(
            dig=day(8), trench=day(9), plant=day(10), pave=day(12, "stone"), wall=day(12, "south")
        )
        return made, placed

    def test_a_visit_in_two_pieces_becomes_one(self):
        """One of the three works has room enough to let the others be neighbours."""
        made, placed = self.split()
        assert counted(made, placed) == Untidy(returns=1)
        assert counted(made, tidied(made, placed)) == Untidy()

    def test_with_no_time_left_it_stays_in_two(self):
        """Who says that time is up is asked before the first place is tried."""
        made, placed = self.split()
        assert tidied(made, placed, stop=lambda: True) == placed

    def test_what_people_were_told_is_not_upset_for_it(self):
        """The same, published: it stays."""
        made, placed = self.split()
        told = replace(made, published=placed.placements)
        assert tidied(told, placed) == placed

    def test_a_finish_is_not_put_off_for_it(self):
        """Without anything at elm after the trench, it stays; planting moves next to digging no sooner."""
        made = world(
            work("dig", 4),
            work("trench", 4, job="elm"),
            work("plant", 4),
            ties=(tie("dig", "plant"),),
        )
        placed = plan(dig=day(8), trench=day(9), plant=day(10))
        assert tidied(made, placed) == placed

    def test_days_of_a_rented_machine_come_together(self):
        """The trencher is there from Monday to Friday; its second use has room, and moves up to Tuesday."""
        made = world(
            work("dig", 4, machines={"trencher": 1}),
            work("pipe", 4, machines={"trencher": 1}),
            work("pave", 4, "stone"),
            machines=rented(5),
        )
        unit = ("trencher", 0)
        placed = plan(dig=day(8, "north", unit), pipe=day(12, "north", unit), pave=day(12, "stone"))
        assert counted(made, placed) == Untidy(idle=(("trencher", 3),))
        assert counted(made, tidied(made, placed)) == Untidy()

    def test_a_pour_leaves_friday_afternoon(self):
        """It has room until Tuesday, and goes to the nearest half day that is none before a rest."""
        made = world(work("pour", 2, "stone", template="pour-slab", one_go=True), work("plant", 4))
        placed = plan(pour=at(june(12, THIRD), june(12, LAST), "stone"), plant=day(16))
        moved = tidied(made, placed)
        assert moved["pour"] == at(june(12), june(12, SECOND), "stone")


@st.composite
def rich_worlds(draw):
    """Worlds in which machines are rented and works have customs."""
    made = draw(worlds())
    kinds = st.sampled_from(["", "pour-slab", "lay-sod"])
    works = {name: replace(it, template=draw(kinds)) for name, it in made.works.items()}
    machines = {
        name: replace(it, hire=tuple(draw(st.integers(0, 4)) for _ in it.open))
        for name, it in made.machines.items()
    }
    return replace(made, works=works, machines=machines)


@patient
@given(rich_worlds())
def test_the_last_pass_keeps_all_of_more_weight(drawn):
    """It never worsens a part, and the judge accepts what it leaves and counts the same."""
    try:
        placed = build_plan(drawn).plan
    except NoPlan:
        assume(False)
    assert judge_plan(drawn, placed).score.untidy == untidy_of(drawn, placed.placements).points
    tidied(drawn, placed)
