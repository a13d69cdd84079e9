"""One try near an old plan: few works move, who is in the way moves on, and all of it can be taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs.scheduling.budget import Tries
from jobs.scheduling.dice import Dice
from jobs.scheduling.judging.judge import judge_plan
from jobs.scheduling.placing.repair import Mender
from jobs.scheduling.storm.aims import Aims, rests
from jobs.scheduling.storm.jostle import Jostle
from jobs.scheduling.storm.room import Aim, Wish
from jobs.scheduling.storm.standing import Standing
from jobs.scheduling.storm.steady import DAY_PRICE, WIN_BACK_PRICE, Near
from jobs.services.bench.replan import invented_storm
from tests.worlds import DAY, LAST, THIRD, at, crew, job, june, plan, tie, work, world

if TYPE_CHECKING:
    from jobs.scheduling.result import Plan

BY_CREWS = {name: crew(name) for name in ("north", "south")}
YARDS = {name: job(name) for name in ("oak", "elm")}


def standing_of(yard, published: Plan, now: Plan) -> Standing:
    """Return a board that shows one plan, with the places of another as the old ones."""
    mender = Mender(yard, published.placements)
    mender.lay_out(now)
    standing = Standing(mender, yard, published.placements, 0)
    standing.recount()
    return standing


def stands(standing: Standing) -> dict[str, tuple[int, int]]:
    """First and last slot of each work on the board."""
    board = standing.board
    return {work.id: (board.start[i], board.end[i]) for i, work in enumerate(standing.ready.works)}


def two_yards():
    """Oak is dug on Tuesday 9 and elm on Wednesday 10, by the same crew; now they are the other way round."""
    yard = world(
        work("oak dig", 4), work("elm dig", 4, job="elm"), crews=BY_CREWS, jobs=YARDS, now=june(9)
    )
    was = plan(oak_dig=at(june(9), june(9, LAST)), elm_dig=at(june(10), june(10, LAST)))
    now = plan(elm_dig=at(june(9), june(9, LAST)), oak_dig=at(june(10), june(10, LAST)))
    return yard, was, now


class TestJostle:
    """What one try does."""

    def test_a_pressed_work_takes_its_old_day_and_the_other_goes_back_to_its_own(self):
        """Both days were changed; after one try none is."""
        standing = standing_of(*two_yards())
        assert sorted(standing.crew_days.wrong) == [("north", 1), ("north", 2)]
        assert Jostle(standing, Aim((0,), frozenset({0}), day_price=24.0)).run()
        assert stands(standing) == {
            "oak dig": (june(9), june(9, LAST)),
            "elm dig": (june(10), june(10, LAST)),
        }
        assert standing.crew_days.wrong == {}

    def test_without_pressing_nobody_makes_room(self):
        """Oak's old day is taken: it stays where it is free."""
        standing = standing_of(*two_yards())
        before = stands(standing)
        jostle = Jostle(standing, Aim((0,), day_price=24.0))
        assert jostle.run()
        assert (stands(standing), jostle.moved()) == (before, False)

    def test_who_follows_moves_on_and_who_must_follow_soon_makes_its_forerunner_wait(self):
        """Joints must be sawn within a day of the pour; the saw is out until Friday, so the pour waits for Thursday."""
        works = (work("dig", 4), work("pour", 3, one_go=True), work("saw", 1, "south"))
        ties = (tie("dig", "pour"), tie("pour", "saw", at_most=DAY))
        south = crew("south", BY_CREWS["south"].open & ~((1 << june(12)) - 1))
        yard = world(*works, ties=ties, crews=BY_CREWS | {"south": south}, jobs=YARDS)
        thursday = (june(11), june(11, THIRD))
        now = plan(
            dig=at(june(8), june(8, LAST)),
            pour=at(*thursday),
            saw=at(june(12), june(12), "south"),
        )
        standing = standing_of(yard, now, now)
        hurried = Aim((1, 2), keep=False)
        assert Jostle(standing, hurried).run()
        assert stands(standing)["pour"] == thursday

    def test_a_hurried_work_goes_where_it_is_soonest_whoever_is_there(self):
        """Elm comes first by a link of nobody's: oak, pressed, takes Tuesday from it."""
        standing = standing_of(*two_yards())
        way = standing.board.by[0]
        aim = Aim((0,), frozenset({0}), Wish.SOONEST, keep=False, ways={0: way})
        assert Jostle(standing, aim).run()
        assert stands(standing)["oak dig"] == (june(9), june(9, LAST))

    def test_whatever_was_tried_can_be_taken_back(self):
        """Two hundred tries of every kind on an invented company: board and count are as before each."""
        storm = invented_storm(3, 1, day=12)
        mender = Mender(storm.world, storm.published)
        assert mender.keep_places()
        standing = Standing(mender, storm.before, storm.published, storm.last_lost)
        standing.recount()
        aims = Aims(standing, Dice(1, "near"), 24.0)
        board, kept = standing.board, dict(standing.crew_days.wrong)
        before = board.start[:], board.end[:], board.by[:], board.held[:], dict(board.ledger.held)
        for n in range(200):
            jostle = Jostle(standing, aims.choose([0, 1], [1], too_late=bool(n % 2)))
            jostle.run()
            jostle.take_back()
            after = board.start, board.end, board.by, board.held, board.ledger.held
            assert after == before
            assert standing.crew_days.wrong == kept


class TestNear:
    """The walk."""

    def test_every_plan_it_keeps_is_sound_and_its_count_is_the_true_one(self):
        """The judge, and a count from nothing, after three hundred tries."""
        storm = invented_storm(6, 1)
        mender = Mender(storm.world, storm.published)
        assert mender.keep_places()
        standing = Standing(mender, storm.before, storm.published, storm.last_lost)
        near = Near(standing, {}, 0.0, seed=3)
        first = near.least
        for _ in range(300):
            near.step(10.0)
        counted = dict(standing.crew_days.wrong)
        standing.recount()
        assert standing.crew_days.wrong == counted
        near.restore()
        assert near.least < first
        assert judge_plan(storm.world, mender.plan()).sound

    def test_one_yard_does_not_pay_for_all(self):
        """What it may be late costs little, what is more costs much, though the sum be the same."""
        yard, was, now = two_yards()
        late = {name: job(name, promise=june(8, LAST)) for name in ("oak", "elm")}
        standing = standing_of(world(*yard.works.values(), crews=BY_CREWS, jobs=late), was, now)
        fair = Near(standing, {"oak": 2.0, "elm": 1.0}, 3.0)
        unfair = Near(standing, {"oak": 0.0, "elm": 3.0}, 3.0)
        assert fair.least < unfair.least

    def test_fewer_days_late_than_pushed_right_come_before_fewer_changes(self):
        """A plan below the cap is kept before one that costs less and is not."""
        yard, was, now = two_yards()
        late = {name: job(name, promise=june(8, LAST)) for name in ("oak", "elm")}
        standing = standing_of(world(*yard.works.values(), crews=BY_CREWS, jobs=late), was, now)
        two_and_one = Near(standing, {}, 0.0, below=4).rank
        too_late = Near(standing, {}, 0.0, below=3).rank
        assert (two_and_one[0], too_late[0]) == (False, True)
        assert two_and_one < too_late

    def test_a_beginning_laid_out_anew_is_taken_where_it_is_worth_more(self):
        """Nothing is late, so what stands is kept; where it is far too late, a rest laid out anew wins days back."""
        storm = invented_storm(6, 1)
        mender = Mender(storm.world, storm.published)
        assert mender.keep_places()
        standing = Standing(mender, storm.before, storm.published, storm.last_lost)
        kept = stands(standing)
        Near(standing, {}, 0.0).begin_anew(rests(standing, storm.last_lost), Tries(99))
        assert stands(standing) == kept
        near = Near(standing, {}, 0.0, below=0)
        late, changed = near.whole.days, len(standing.crew_days.wrong)
        near.begin_anew(rests(standing, storm.last_lost), Tries(99))
        more = len(standing.crew_days.wrong) - changed
        assert DAY_PRICE * more < WIN_BACK_PRICE * (late - near.whole.days)
        assert judge_plan(storm.world, mender.plan()).sound
