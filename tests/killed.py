"""Accepting in processes that are killed: ``python -m tests.killed TIMES SEED PROCESSES``, with the state to begin from in ``tests.afresh``.

Each time that state is accepted by a process of its own, which dies (SIGKILL) between BEGIN and COMMIT: turn and
turn about before a step drawn by lot (a statement, the commit, or right after it), and at a moment drawn by lot of the
time a transaction takes, so also in the middle of a statement. A process that was through before its moment came
does not count. What the database then holds is all or nothing; accepting again completes it. Then so many
processes accept at once. Prints how many died before and after the plan was kept, of each kind, and how many won and
were refused together, as JSON; a breach ends it with its words.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from typing import TYPE_CHECKING, NamedTuple

import django
from django.db import connection

from tests import afresh

if TYPE_CHECKING:
    from collections.abc import Callable

REFUSED = 3
MOST_TRIES = 8
"""Tries for each process that is to be killed: some are through before their moment."""
BEGUN, KEPT = b"b", b"k"
"""What a process says once it has begun its transaction, and once it is committed."""


class Death(NamedTuple):
    """Before which step a process kills itself; 0 for none."""

    step: int = 0


class Steps:
    """Counts the steps of a transaction, statements and the commit, and tells of them through a pipe."""

    def __init__(self, out: int, death: Death) -> None:
        self.out, self.death, self.count = out, death, 0

    def __call__(self, execute: Callable[..., object], *told: object) -> object:
        """Run a statement."""
        self.step()
        found = execute(*told)
        if self.count == 1:
            os.write(self.out, BEGUN)
        return found

    def step(self) -> None:
        """Come to the next step, and no further where it is the last one."""
        self.count += 1
        if self.count == self.death.step:
            os.kill(os.getpid(), signal.SIGKILL)

    def watch(self) -> None:
        """Be told of every statement from here on, and of the commit."""
        commit = connection._commit

        def committed() -> None:
            self.step()
            commit()
            self.step()
            os.write(self.out, KEPT + self.count.to_bytes(2))

        connection._commit = committed
        connection.execute_wrappers.append(self)


class Ended(NamedTuple):
    """How a process ended: its exit code, minus the signal if killed; what it said of its transaction."""

    code: int
    said: bytes
    seconds: float

    @property
    def inside(self) -> bool:
        """True if it was killed before it could say that the plan is kept."""
        return self.code == -signal.SIGKILL and KEPT not in self.said


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


def accept_in_a_process(death: Death = Death()) -> tuple[int, int]:  # noqa: B008 (a constant)
    """Accept in a child; return its process id, and a pipe through which it tells of its transaction."""
    from jobs.models import Answer  # noqa: PLC0415
    from jobs.services.planning.accept_plan import PlanRefusedError  # noqa: PLC0415
    from jobs.services.storm.accept_storm import accept_answer  # noqa: PLC0415
    from tests.office import NOW  # noqa: PLC0415

    connection.close()
    ours, theirs = os.pipe()
    child = os.fork()
    if child:
        os.close(theirs)
        return child, ours
    try:
        row = Answer.objects.filter(way="steady").latest("pk")
        Steps(theirs, death).watch()
        accept_answer(row, by="test", now=NOW)
    except PlanRefusedError:
        os._exit(REFUSED)
    except BaseException:  # the parent tells by the code
        os._exit(1)
    os._exit(0)


def accept(death: Death = Death(), *, after: float | None = None) -> Ended:  # noqa: B008 (a constant)
    """Accept in a child until it ends, or is killed so many seconds after its transaction began."""
    child, pipe = accept_in_a_process(death)
    with os.fdopen(pipe, "rb", buffering=0) as told:
        said = told.read(1)
        begun = time.perf_counter()
        if after is not None and said:
            time.sleep(after)
            os.kill(child, signal.SIGKILL)
        while more := told.read(16):
            said += more
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    afresh.settle()
    return Ended(code, said, time.perf_counter() - begun)


def run(times: int, seed: int) -> dict[str, int]:
    """Kill so many processes; return how many died before and after the plan was kept, by step and by the clock."""
    from jobs.scheduling.dice import Dice  # noqa: PLC0415

    afresh.begin()
    before, whole = state_of_things(), accept()
    after = state_of_things()
    if whole.code or after == before:
        raise SystemExit(f"nothing was accepted to begin with: {whole.code}")
    last = int.from_bytes(whole.said[-2:])
    dice, found = Dice(seed, "killed"), dict.fromkeys(("killed", "before", "after", "by_clock"), 0)
    for _ in range(MOST_TRIES * times):
        if found["killed"] == times:
            break
        afresh.begin()
        by_clock = found["killed"] % 2 == 1
        if by_clock:
            ended = accept(after=whole.seconds * dice.share())
        else:
            ended = accept(Death(dice.whole(2, last)))
        held = state_of_things()
        if held not in (before, after):
            raise SystemExit("half of it was kept")
        expected = 0 if held == before else REFUSED
        if accept().code != expected or state_of_things() != after:
            raise SystemExit("what was left could not be completed")
        if ended.inside:
            found["killed"] += 1
            found["by_clock"] += by_clock
            found["before" if held == before else "after"] += 1
    return found | {"steps": last}


def together(processes: int) -> dict[str, int]:
    """Accept in many processes at once; return how many won and were refused."""
    afresh.begin()
    children = [accept_in_a_process() for _ in range(processes)]
    ended = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child, _ in children]
    return {"won": ended.count(0), "refused": ended.count(REFUSED)}


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobs.settings")
    django.setup()
    times, seed, processes = map(int, sys.argv[1:])
    print(json.dumps(run(times, seed) | together(processes)))  # noqa: T201
    afresh.end()
