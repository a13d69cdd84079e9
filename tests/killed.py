"""Accepting in processes that are killed: ``python -m tests.killed TIMES SEED PROCESSES``, with the state to begin from in ``YARDWRIGHT_DATA``.

Each time a copy of that state is accepted by a process of its own, which is killed (SIGKILL) after a random
part of the time that accepting takes. What the file then holds is all or nothing; accepting again completes it.
Then so many processes accept at once. Prints how many died before and after the plan was kept, and how many won
and were refused together, as JSON; a breach ends it with its words.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
import time
from pathlib import Path

import django
from django.db import connections

STATE, WORK = "state.sqlite3", "yardwright.sqlite3"
REFUSED = 3
MOST_TRIES = 6
"""Tries for each process that is to be killed: some are done before it comes to that."""


def state_of_things() -> dict[str, object]:
    """Read all that accepting changes, without what is made anew each time (uids, instants)."""
    from crews.models import CalendarEvent  # noqa: PLC0415 (after Django is set up)
    from jobs.models import FinishChange, HistoryEntry, LostTime, Plan, PlanRow  # noqa: PLC0415

    rows = PlanRow.objects.order_by("plan__number", "activity_id")
    events = CalendarEvent.objects.values_list("title", "start", "end", "status", "sequence")
    return {
        "plans": list(Plan.objects.order_by("number").values_list("number", "state")),
        "rows": list(rows.values_list("plan__number", "activity_id", "start", "finish")),
        "events": sorted(map(str, events)),
        "history": list(HistoryEntry.objects.order_by("pk").values_list("what", "after")),
        "moved": list(FinishChange.objects.order_by("pk").values_list("job_id", "was", "becomes")),
        "lost": list(LostTime.objects.order_by("pk").values_list("pk", "plan__number")),
    }


def fresh(data: Path) -> None:
    """Begin again from the state that was given."""
    connections.close_all()
    for old in data.glob(f"{WORK}*"):
        old.unlink()
    shutil.copy(data / STATE, data / WORK)


def accept_in_a_process() -> int:
    """Accept in a child; return its process id."""
    from jobs.models import Answer  # noqa: PLC0415
    from jobs.services.planning.accept_plan import PlanRefusedError  # noqa: PLC0415
    from jobs.services.storm.accept_storm import accept_answer  # noqa: PLC0415
    from tests.office import NOW  # noqa: PLC0415

    connections.close_all()
    child = os.fork()
    if child:
        return child
    try:
        accept_answer(Answer.objects.filter(way="steady").latest("pk"), by="test", now=NOW)
    except PlanRefusedError:
        os._exit(REFUSED)
    except BaseException:  # the parent tells by the code
        os._exit(1)
    os._exit(0)


def wait_for(child: int) -> int:
    """Return the exit code of a child; minus the signal if it was killed."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def kill_after(seconds: float) -> int:
    """Accept, and kill the process after some seconds; return how it ended."""
    child = accept_in_a_process()
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    return wait_for(child)


def run(data: Path, times: int, seed: int) -> dict[str, int]:
    """Kill so many processes; return how many died before and after the plan was kept."""
    from jobs.scheduling.dice import Dice  # noqa: PLC0415

    fresh(data)
    before = state_of_things()
    begun = time.perf_counter()
    ended = wait_for(accept_in_a_process())
    took = time.perf_counter() - begun
    after = state_of_things()
    if ended or after == before:
        raise SystemExit(f"nothing was accepted to begin with: {ended}")
    dice, found = Dice(seed, "killed"), {"killed": 0, "before": 0, "after": 0}
    for _ in range(MOST_TRIES * times):
        if found["killed"] == times:
            break
        fresh(data)
        killed = kill_after(took * dice.share()) == -signal.SIGKILL
        held = state_of_things()
        if held not in (before, after):
            raise SystemExit("half of it was kept")
        expected = 0 if held == before else REFUSED
        if wait_for(accept_in_a_process()) != expected or state_of_things() != after:
            raise SystemExit("what was left could not be completed")
        found["killed"] += killed
        found["before" if held == before else "after"] += killed
    return found


def together(data: Path, processes: int) -> dict[str, int]:
    """Accept in many processes at once; return how many won and were refused."""
    fresh(data)
    children = [accept_in_a_process() for _ in range(processes)]
    ended = [wait_for(child) for child in children]
    return {"won": ended.count(0), "refused": ended.count(REFUSED)}


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobs.settings")
    django.setup()
    data, (times, seed, processes) = Path(os.environ["YARDWRIGHT_DATA"]), map(int, sys.argv[1:])
    print(json.dumps(run(data, times, seed) | together(data, processes)))  # noqa: T201
