"""All futures of a plan walked at once: the plan's turns, and what is shared, whatever pace and losses are drawn."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from jobs.scheduling.errors import NoPlan
from jobs.scheduling.risk.order import order_of
from jobs.scheduling.risk.walk import Walk
from jobs.scheduling.search.dispatch import build_plan
from jobs.scheduling.world import Done, World
from jobs.trade.work import Lag, Relation
from tests.one_by_one import walk_one
from tests.worlds import (
    DAY,
    FIRST,
    JUNE,
    LAST,
    SECOND,
    THIRD,
    at,
    job,
    june,
    patio,
    plan,
    tie,
    work,
    world,
    worlds,
)


class Scripted:
    """Draws written out by hand: slots per work and future, lost slots per work and future."""

    def __init__(
        self,
        futures: int,
        slots: dict[str, list[int]],
        lost: dict[str, list[set[int]]],
        size: int = JUNE.size,
    ):
        self.futures, self._slots, self._lost, self._size = futures, slots, lost, size

    def slots(self, work, crew, planned):
        """As written out, else as planned."""
        return np.array(self._slots.get(work.id, [planned] * self.futures))

    def lost(self, work):
        """As written out, else nothing."""
        if work.id not in self._lost:
            return None
        marks = np.zeros((self._size, self.futures), bool)
        for future, slots in enumerate(self._lost[work.id]):
            marks[sorted(slots), future] = True
        return marks

    def amounts(self, follow):
        """As the plan has it."""
        return

    def ready_at(self, follow, event, minutes):
        """As the plan has it."""
        return


def walk(made: World, placed, draws: Scripted) -> dict[str, list[tuple[int, int]]]:
    """Return first and last slot of each work in each future."""
    ends = Walk(made, placed, order_of(made, placed), draws, (0, JUNE.size), {}).run()
    return {
        name: list(zip(found.start.tolist(), found.end.tolist(), strict=True))
        for name, found in ends.items()
    }


# -- against one future after the other, in plain Python ---------------------------------------


@given(worlds(), st.data())
def test_all_futures_at_once_are_what_each_is_walked_alone(
    made: World, data: st.DataObject
) -> None:
    """Whatever works take and lose, every work that ends within the axis stands where plain Python puts it."""
    try:
        placed = build_plan(made).plan
    except NoPlan:
        return
    size = made.axis.size
    some = st.frozensets(st.integers(0, 60), max_size=30)
    lost = {name: data.draw(st.lists(some, min_size=2, max_size=2)) for name in made.works}
    slots = {
        name: data.draw(st.lists(st.integers(1, 5), min_size=2, max_size=2)) for name in made.works
    }
    draws = Scripted(2, slots, lost, size=size)
    found = Walk(made, placed, order_of(made, placed), draws, (0, size), {}).run()
    for future in range(2):
        alone = walk_one(
            made,
            placed,
            {name: drawn[future] for name, drawn in slots.items()},
            {name: drawn[future] for name, drawn in lost.items()},
        )
        assert {
            name: (int(ends.start[future]), int(ends.end[future])) for name, ends in found.items()
        } == alone


# -- the search ----------------------------------------------------------------------------


def test_work_takes_its_next_open_slots_in_each_future() -> None:
    """Four slots from Monday: all good; Monday lost; every second slot lost."""
    made = world(work("dig", 4))
    draws = Scripted(
        3, {}, {"dig": [set(), {june(8, p) for p in range(6)}, {june(d, p) for d in (8, 9) for p in (FIRST, THIRD)}]}
    )  # fmt: skip
    assert walk(made, plan(dig=at(june(8), june(8, LAST))), draws) == {
        "dig": [
            (june(8), june(8, LAST)),
            (june(9), june(9, LAST)),
            (june(8, SECOND), june(9, LAST)),
        ]
    }


def test_slower_work_ends_later() -> None:
    """Five slots instead of four end on Tuesday at nine."""
    made = world(work("dig", 4))
    draws = Scripted(2, {"dig": [4, 5]}, {})
    assert walk(made, plan(dig=at(june(8), june(8, LAST))), draws)["dig"] == [
        (june(8), june(8, LAST)),
        (june(8), june(9)),
    ]


def test_a_pour_waits_for_a_day_that_holds_it_whole() -> None:
    """Three slots in one go: with Monday's second slot lost nothing of Monday is long enough."""
    made = world(work("pour", 3, one_go=True))
    lost = [set(), {june(8, SECOND)}, {june(8, FIRST)}]
    assert walk(made, plan(pour=at(june(8), june(8, THIRD))), Scripted(3, {}, {"pour": lost})) == {
        "pour": [
            (june(8), june(8, THIRD)),
            (june(9), june(9, THIRD)),
            (june(8, SECOND), june(8, LAST)),
        ]
    }


def test_a_crew_kept_waiting_gets_on_with_its_next_work() -> None:
    """Digging is lost on Monday: in that future the crew builds on Monday and digs on Tuesday."""
    made = world(work("dig", 4, place="lawn"), work("build", 4, place="patio", job="elm"))
    placed = plan(dig=at(june(8), june(8, LAST)), build=at(june(9), june(9, LAST)))
    monday = {june(8, p) for p in range(6)}
    walked = walk(made, placed, Scripted(2, {}, {"dig": [set(), monday]}))
    assert walked == {
        "dig": [(june(8), june(8, LAST)), (june(9), june(9, LAST))],
        "build": [(june(9), june(9, LAST)), (june(8), june(8, LAST))],
    }


def test_who_goes_ahead_never_holds_up_the_one_whose_turn_it_is() -> None:
    """Digging is lost until Monday noon: the crew builds for two slots, digs, and builds on."""
    made = world(work("dig", 4, place="lawn"), work("build", 4, place="patio", job="elm"))
    placed = plan(dig=at(june(8), june(8, LAST)), build=at(june(9), june(9, LAST)))
    walked = walk(made, placed, Scripted(1, {}, {"dig": [{june(8), june(8, SECOND)}]}))
    assert walked == {
        "dig": [(june(8, THIRD), june(9, SECOND))],
        "build": [(june(8), june(9, LAST))],
    }


def test_a_crew_changes_yards_at_noon_in_every_future() -> None:
    """Dug in one slot, as planned or in three: the crew builds elsewhere after lunch, or on Tuesday."""
    made = world(work("dig", 2), work("build", 2, job="elm"))
    placed = plan(dig=at(june(8), june(8, SECOND)), build=at(june(8, THIRD), june(8, LAST)))
    walked = walk(made, placed, Scripted(3, {"dig": [1, 2, 3]}, {}))
    assert walked["build"] == [
        (june(8, THIRD), june(8, LAST)),
        (june(8, THIRD), june(8, LAST)),
        (june(9, FIRST), june(9, SECOND)),
    ]


def test_a_far_drive_takes_a_slot_in_every_future() -> None:
    """Dug by nine the drive is over by lunch; dug by lunch, it takes the slot after it."""
    far = {name: job(name, near=frozenset()) for name in ("oak", "elm")}
    made = world(work("dig", 1), work("build", 1, job="elm"), jobs=far)
    placed = plan(dig=at(june(8), june(8)), build=at(june(8, THIRD), june(8, THIRD)))
    walked = walk(made, placed, Scripted(2, {"dig": [1, 2]}, {}))
    assert walked["build"] == [(june(8, THIRD),) * 2, (june(8, LAST),) * 2]


def test_a_zone_takes_its_crews_in_turn() -> None:
    """Two crews, one patio: the second waits for the first, however late it is."""
    made = world(work("dig", 4, place="patio"), work("build", 4, "south", place="patio"))
    placed = plan(dig=at(june(8), june(8, LAST)), build=at(june(9), june(9, LAST), "south"))
    assert walk(made, placed, Scripted(1, {"dig": [6]}, {}))["build"] == [
        (june(9, THIRD), june(10, SECOND))
    ]


def test_a_yard_with_room_for_two_crews_makes_neither_wait() -> None:
    """One after the other in the plan, but nothing shared: the second is on time, however late the first."""
    made = world(work("dig", 4, place="lawn"), work("build", 4, "south", place="patio"))
    placed = plan(dig=at(june(8), june(8, LAST)), build=at(june(9), june(9, LAST), "south"))
    ends = Walk(
        made,
        placed,
        order_of(made, placed),
        Scripted(1, {"dig": [12]}, {}),
        (0, JUNE.size),
        {"build": june(9)},
    ).run()
    assert ends["dig"].end.tolist() == [june(10, LAST)]
    assert ends["build"].end.tolist() == [june(9, LAST)]


def test_a_machine_goes_to_the_next_yard_while_the_first_waits() -> None:
    """The loader's first work is lost on Monday: the other yard has it then, and gives it back on Tuesday."""
    made = world(
        work("dig", 4, place="lawn", machines={"loader": 1}),
        work("haul", 4, "south", job="elm", machines={"loader": 1}),
    )
    loader = ("loader", 0)
    placed = plan(
        dig=at(june(8), june(8, LAST), "north", loader),
        haul=at(june(9), june(9, LAST), "south", loader),
    )
    monday = {june(8, p) for p in range(6)}
    assert walk(made, placed, Scripted(2, {}, {"dig": [set(), monday]})) == {
        "dig": [(june(8), june(8, LAST)), (june(9), june(9, LAST))],
        "haul": [(june(9), june(9, LAST)), (june(8), june(8, LAST))],
    }


def test_work_that_runs_goes_on_from_now() -> None:
    """Begun on Monday, four slots left on Wednesday; a done work stays where it stood."""
    begun = work("dig", 4, done=Done(june(8), None, "north"))
    ended = work("clear", 1, done=Done(june(8), june(8), "south"))
    made = world(begun, ended, now=june(10))
    placed = plan(dig=at(june(8), june(10, LAST)), clear=at(june(8), june(8), "south"))
    assert walk(made, placed, Scripted(1, {"dig": [5]}, {})) == {
        "dig": [(june(8), june(11))],
        "clear": [(june(8), june(8))],
    }


def test_a_finish_link_holds_the_end() -> None:
    """The follower may begin but not end before the other: one slot on the slot the other ends in."""
    made = world(
        work("dig", 4, place="lawn"),
        work("haul", 1, "south"),
        ties=(tie("dig", "haul", relation=Relation.FINISH_FINISH),),
    )
    placed = plan(dig=at(june(8), june(8, LAST)), haul=at(june(8, LAST), june(8, LAST), "south"))
    assert walk(made, placed, Scripted(1, {"dig": [6]}, {}))["haul"] == [(june(9, SECOND),) * 2]


def test_what_never_ends_within_the_days_is_beyond() -> None:
    """A work lost for ever, and all that follows it, end at the size of the axis."""
    made = world(work("dig", 1), work("build", 1, "south"), ties=(tie("dig", "build", DAY),))
    placed = plan(dig=at(june(8), june(8)), build=at(june(9), june(9), "south"))
    ever = Scripted(1, {}, {"dig": [set(range(JUNE.size))]})
    assert walk(made, placed, ever) == {name: [(JUNE.size, JUNE.size)] for name in ("dig", "build")}


# -- who waits for whom, and who shares what -------------------------------------------------


def test_only_what_is_shared_with_works_one_is_not_linked_to_is_watched() -> None:
    """Dig, then build, by one crew: no need to watch it, until a third work wants it too."""
    linked = (work("dig", 2, place="lawn"), work("build", 2, place="patio"))
    stand = {"dig": at(june(8), june(8, SECOND)), "build": at(june(9), june(9, SECOND))}
    made = world(*linked, ties=(tie("dig", "build"),))
    assert order_of(made, plan(**stand)).shares == {"dig": [], "build": []}
    made = world(*linked, work("cut", 1, job="elm"), ties=(tie("dig", "build"),))
    shares = order_of(made, plan(**stand, cut=at(june(10), june(10)))).shares
    assert {name: [share.of for share in taken] for name, taken in shares.items()} == {
        name: [("crew", "north")] for name in ("dig", "build", "cut")
    }


def test_ground_kept_out_is_waited_for_and_left_in_time() -> None:
    """Base before the pour, stone after its week; sawing and stripping are exempt."""
    made, placed = patio()
    waits = order_of(made, placed).waits
    assert ("pour slab", Lag(7 * DAY)) in {(f.before, f.lag) for f in waits["set stone"]}
    assert "base" in {f.before for f in waits["pour slab"]}
    assert {f.lag for f in waits["saw joints"]} == {Lag(240, at_most=DAY)}
