"""What makes a finish later than planned, a share each."""

from __future__ import annotations

from datetime import timedelta

from jobs.scheduling.dice import Dice
from jobs.scheduling.risk.delays import Delay, split_delay
from jobs.scheduling.risk.futures import run_futures
from jobs.scheduling.risk.hazards import Hazards
from tests.worlds import LAST, at, june, plan, work, world

NOTHING = timedelta()
LATER, A_DAY = timedelta(hours=22), timedelta(days=1)


def test_a_crew_held_up_at_another_yard_is_told_apart_from_what_the_yard_does_itself() -> None:
    """Oak's digging takes seven slots for four at even odds: it is done three slots, or 22 hours, later.

    The crew goes to the other yard on Wednesday morning, for it does not change yards within a half day.
    """
    made = world(work("dig", 4), work("build", 4, job="elm"))
    placed = plan(dig=at(june(8), june(8, LAST)), build=at(june(9), june(9, LAST)))
    weather = Hazards(paces={"dig": (1.0, 3.2)})
    whole = run_futures(made, placed, weather=weather, runs=400, dice=Dice(0))
    assert split_delay(made, placed, weather=weather, runs=400, dice=Dice(0), whole=whole) == {
        "oak": Delay(LATER, NOTHING, NOTHING, NOTHING),
        "elm": Delay(NOTHING, NOTHING, NOTHING, A_DAY),
    }
