"""Workers killed in every phase: the task is taken up again, one result is kept, what is published stands.

Real processes on a database in a file; see ``tests.killing``. More kills were made by hand, see DEVELOPERS.md.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from tests.killing import BEGIN

HERE = Path(__file__).resolve().parents[2]
PATIENCE = 60
KILLS = int(os.environ.get("KILLS", "1"))
"""Kills at moments spread over a search; more by hand."""
GOLDEN, SPAN = 0.618, 5.0
"""Moments never fall together; seconds over which they are spread."""


class Company:
    """A company in a process of its own."""

    def __init__(self, data: Path) -> None:
        names = {
            "YARDWRIGHT_DATA": str(data),
            "DJANGO_SETTINGS_MODULE": "jobs.settings",
            "TODAY": "2026-06-16T18:00-04:00",
        }
        words = [sys.executable, "-c", BEGIN]
        self._process = subprocess.Popen(  # noqa: S603 (our own module)
            words, cwd=HERE, env=os.environ | names, text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        )  # fmt: skip

    def __call__(self, *words: str) -> dict:
        """Tell it something, and wait for the answer."""
        self._process.stdin.write(" ".join(words) + "\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def close(self) -> None:
        """End it."""
        self._process.stdin.close()
        self._process.wait(PATIENCE)
        self._process.stdout.close()


@pytest.fixture(scope="module")
def company(tmp_path_factory):
    """Four small yards, planned and published."""
    told = Company(tmp_path_factory.mktemp("killed"))
    told("prepare")
    yield told
    told.close()


def kill(pid: int) -> None:
    """End a process at once, as a power cut would."""
    os.kill(pid, signal.SIGKILL)


def children(pid: int) -> list[int]:
    """Processes that a process has started."""
    with suppress(FileNotFoundError):
        return [int(n) for n in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    return []


def running(pid: int) -> bool:
    """Whether a process still runs; one that ended and was not asked for does not."""
    with suppress(FileNotFoundError, ProcessLookupError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False


def wait_for(true) -> None:
    """Look again and again, for a minute at most."""
    until = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < until
        time.sleep(0.05)


def taken_up_again(company, before: dict, tries: int) -> None:
    """Nothing was kept by who was killed; the next worker keeps one proposal."""
    after = company("silent")
    assert (after["plans"], after["published"]) == (before["plans"], before["published"])
    done = company("once")
    assert (done["state"], done["tries"]) == ("done", tries)
    assert (done["proposed"], done["plans"]) == (1, before["plans"] + 1)
    assert (done["published"], done["rows"]) == (before["published"], before["rows"])


@pytest.mark.parametrize(
    ("phase", "tries"),
    [("before claiming", 1), ("claimed", 2), ("reading", 2), ("found", 2), ("keeping", 2)],
)
def test_a_worker_killed_in_a_phase_loses_nothing(company, phase, tries):
    """Before it took the task, just after, while reading, with a plan in hand, and in the middle of keeping it."""
    before = company("state")
    company("ask", "0.3")
    victim = company("victim", phase)
    assert victim["said"] == phase
    kill(victim["pid"])
    taken_up_again(company, before, tries)


def test_a_worker_killed_in_the_middle_of_its_search_leaves_no_process_behind(company):
    """Its two processes notice that nobody is left to tell, and end."""
    before = company("state")
    company("ask", "30")
    pid = company("victim", "searching")["pid"]
    wait_for(lambda: company("state")["progress"])
    searching = children(pid)
    assert len(searching) >= 2
    kill(pid)
    wait_for(lambda: not any(map(running, searching)))
    assert company("silent")["anybody"] is False
    company("shorten")
    taken_up_again(company, before, 2)


@pytest.mark.parametrize("n", range(KILLS))
def test_a_worker_killed_at_any_moment_loses_nothing(company, n):
    """While it reads, searches, is in the solver, or keeps: from at once to after its two seconds."""
    before = company("state")
    company("ask", "2")
    pid = company("victim", "searching")["pid"]
    time.sleep((n + 1) * GOLDEN % 1 * SPAN)
    kill(pid)
    now = company("silent")
    company("shorten")
    done = company("once")
    assert (done["state"], done["proposed"]) == ("done", 1)
    assert done["plans"] == before["plans"] + 1
    assert now["plans"] - before["plans"] == (now["state"] == "done")
    assert (done["published"], done["rows"]) == (before["published"], before["rows"])


def test_no_two_workers_take_the_same_task(company):
    """Four processes claim thirty tasks as fast as they can: each task has one owner, none is left over."""
    found = company("race", "30")
    got = [pk for some in found["got"] for pk in some]
    assert (len(got), len(set(got)), found["owners"]) == (30, 30, True)
