"""A process that forks workers which stop at a phase, for tests that kill them; told what to do line by line.

``BEGIN`` is what Python is told to run, with a data folder of its own: it makes the database, asks for plans, forks a
worker that says where it stands and waits there, and sees tasks through itself.
"""

from __future__ import annotations

import json
import os
import sys
import time
from datetime import timedelta

from django.core.management import call_command
from django.db import connections
from django.utils import timezone

from jobs.models import Plan, Solve, Worker
from jobs.services.files.load_job import load_job
from jobs.services.planning import plan_jobs, solving
from tests.office import NOW, SMALL_YARD, open_office, published_plan

LONG_AGO = timedelta(minutes=2)
WORKERS = 4
BEGIN = "import django; django.setup(); from tests.killing import main; main()"


def prepare() -> dict[str, object]:
    """Make a database with four small yards, planned and published."""
    call_command("migrate", verbosity=0)
    open_office()
    for number in (3, 5, 7, 9):
        load_job(SMALL_YARD.replace("3 Finch", f"{number} Finch"), by="test", now=NOW)
    return {"published": published_plan().number}


def ask(seconds: str) -> dict[str, object]:
    """Ask for a better plan, and for nothing else."""
    Solve.objects.all().delete()
    return {"pk": solving.ask(by="test", seconds=float(seconds)).pk}


def victim(phase: str) -> dict[str, object]:
    """Fork a worker that says that it has come to a phase, and waits there to be killed."""
    connections.close_all()
    ours, theirs = os.pipe()
    pid = os.fork()
    if not pid:
        os.close(ours)
        _work_until(phase, theirs)
        os._exit(0)
    os.close(theirs)
    with os.fdopen(ours) as said:
        line = said.readline().strip() if phase != "searching" else ""
    return {"pid": pid, "said": line}


def _work_until(phase: str, out: int) -> None:
    """Work as the loop does, but stop at a phase."""

    def halting(real):
        def halted(*args, **kwargs):
            found = real(*args, **kwargs)
            os.write(out, f"{phase}\n".encode())
            time.sleep(600)
            return found

        return halted

    if phase == "before claiming":
        solving.Solve.objects.filter = halting(solving.Solve.objects.filter)
    elif phase == "claimed":
        solving.claim = halting(solving.claim)
    elif phase == "reading":
        plan_jobs.read_world = halting(plan_jobs.read_world)
    elif phase == "found":
        plan_jobs.describe = halting(plan_jobs.describe)
    elif phase == "keeping":
        solving.keep = halting(solving.keep)
    solving.beat("victim")
    solving.run_one("victim")


def silent(_: str) -> dict[str, object]:
    """Let every worker have said nothing for two minutes."""
    then = timezone.now() - LONG_AGO
    Solve.objects.filter(beat__isnull=False).update(beat=then)
    Worker.objects.update(beat=then)
    return state("")


def once(_: str) -> dict[str, object]:
    """Empty the queue as another worker."""
    while solving.run_one("survivor"):
        pass
    return state("")


def state(_: str) -> dict[str, object]:
    """Tell how tasks and plans stand."""
    task = Solve.objects.first()
    return {
        "state": task.state if task else "",
        "tries": task.tries if task else 0,
        "progress": task.progress if task else {},
        "plan": task.plan_id if task else None,
        "proposed": Plan.objects.filter(state="proposed").count(),
        "plans": Plan.objects.count(),
        "published": Plan.objects.get(state="published").number,
        "rows": Plan.objects.get(state="published").rows.count(),
        "anybody": solving.anybody_there(),
    }


def shorten(_: str) -> dict[str, object]:
    """Let the task that is asked for take less time."""
    return {"rows": Solve.objects.update(limit=0.3)}


def race(tasks: str) -> dict[str, object]:
    """Let four workers claim as fast as they can; tell who got what."""
    Solve.objects.all().delete()
    asked = timezone.now()
    Solve.objects.bulk_create(Solve(asked=asked, limit=1) for _ in range(int(tasks)))
    connections.close_all()
    pipes = []
    begin = time.monotonic() + 0.3
    for n in range(WORKERS):
        ours, theirs = os.pipe()
        if not os.fork():
            os.close(ours)
            time.sleep(max(0, begin - time.monotonic()))
            got = []
            while (task := solving.claim(f"worker {n}")) is not None:
                got.append(task.pk)
            os.write(theirs, json.dumps(got).encode())
            os._exit(0)
        os.close(theirs)
        pipes.append(ours)
    found = []
    for pipe in pipes:
        with os.fdopen(pipe) as said:
            found.append(json.loads(said.read()))
    for _ in range(WORKERS):
        os.wait()
    owners = dict(Solve.objects.values_list("pk", "worker"))
    right = all(owners[pk] == f"worker {n}" for n, got in enumerate(found) for pk in got)
    return {"got": found, "owners": right}


DOES = {
    "prepare": lambda _: prepare(), "ask": ask, "victim": victim, "silent": silent,
    "once": once, "state": state, "shorten": shorten, "race": race,
}  # fmt: skip


def main() -> None:
    """Do what each line says, and answer in one line."""
    for line in sys.stdin:
        does, _, about = line.strip().partition(" ")
        print(json.dumps(DOES[does](about)), flush=True)  # noqa: T201 (the answer)
