"""What makes a finish later than planned, a share each."""

from __future__ import annotations

from datetime import timedelta

from jobs.scheduling.dice import Dice
from jobs.scheduling.risk.delays import Delay, split_delay
from jobs.scheduling.risk.futures import Hazards, run_futures
from tests.worlds import LAST, at, june, plan, work, world

NOTHING = timedelta()
LATER = timedelta(hours=22)


def test_a_crew_held_up_at_another_yard_is_told_apart_from_what_the_yard_does_itself() -> None:
    """Oak's digging takes seven slots for four at even odds: both yards are done three slots, or 22 hours, later."""
    made = world(work("dig", 4), work("build", 4, job="elm"))
    placed = plan(dig=at(june(8), june(8, LAST)), build=at(june(9), june(9, LAST)))
    weather = Hazards(paces={"dig": (1.0, 3.2)})
    whole = run_futures(made, placed, weather=weather, runs=400, dice=Dice(0))
    assert split_delay(made, placed, weather=weather, runs=400, dice=Dice(0), whole=whole) == {
        "oak": Delay(LATER, NOTHING, NOTHING, NOTHING),
        "elm": Delay(NOTHING, NOTHING, NOTHING, LATER),
    }
