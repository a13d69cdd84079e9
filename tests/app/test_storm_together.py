"""Many at once, or cut off half-way: exactly one plan wins, and nothing is half done; questions don't grow with rows."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from datetime import timedelta
from threading import Barrier, Thread

import pytest
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from crews.models import CalendarEvent
from jobs.models import FinishChange, HistoryEntry, LostTime, Plan
from jobs.scheduling.storm.ways_out import Way
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.files.load_job import load_job
from jobs.services.planning import accept_plan as accepting
from jobs.services.planning.accept_plan import PlanRefusedError
from jobs.services.storm.accept_storm import accept_answer
from jobs.services.storm.offer import answer_at_once, answer_better, read_storm
from tests.afresh import hand_over
from tests.office import NOW, SLUG, SMALL_YARD, open_office, published_plan, signed_in, small_job

BY = "test"
TOGETHER = 20
KILLS = int(os.environ.get("KILLS", "3"))
"""Times a process is killed; ``KILLS=50`` for the long run."""
PROCESSES = int(os.environ.get("PROCESSES", "4"))
"""Processes that accept at once; ``PROCESSES=20`` for the long run, twenty threads do so here."""


def rained_out():
    """A small yard, rained out for two days from its first working day, with a steady way out."""
    open_office()
    small_job()
    plan = published_plan()
    first = plan.rows.filter(crew__isnull=False).order_by("start")[0].start.date()
    lose_days(Lost(first, first + timedelta(days=1)), by=BY, now=NOW)
    return answer_better(read_storm(NOW), NOW, ways=(Way.STEADY,), seconds=0.05)[0].row


def state_of_things():
    """Everything that accepting changes."""
    return (
        list(Plan.objects.order_by("number").values_list("number", "state")),
        list(
            CalendarEvent.objects.order_by("uid").values_list("uid", "sequence", "start", "status")
        ),
        HistoryEntry.objects.count(),
        FinishChange.objects.count(),
        list(LostTime.objects.order_by("pk").values_list("pk", "plan_id")),
    )


@pytest.fixture
def shared(tmp_path):
    """Let other threads see what was committed so far; SQLite's test database, in memory, goes into a file.

    Gives a function that does so and returns another, which asks that database for one number.
    """
    if connection.vendor != "sqlite":
        yield lambda: lambda question: _one_number(connection, question)
        return
    file = tmp_path / "yard.sqlite3"
    copy = sqlite3.connect(file)
    settings = connections.settings["default"]
    name = settings["NAME"]

    def switch():
        connection.connection.backup(copy)
        settings["NAME"] = str(file)
        return lambda question: copy.execute(question).fetchone()[0]

    yield switch
    settings["NAME"] = name
    copy.close()


def _one_number(database, question: str) -> int:
    with database.cursor() as cursor:
        cursor.execute(question)
        return cursor.fetchone()[0]


@pytest.mark.django_db(transaction=True)
def test_of_twenty_who_accept_at_once_exactly_one_wins(shared):
    """The others are told; one plan is published, once in the record, by the production settings of the database."""
    row = rained_out()
    count = shared()
    gate, won, refused, broken = Barrier(TOGETHER), [], [], []

    def accept() -> None:
        gate.wait()
        try:
            won.append(accept_answer(row, by=BY, now=NOW).plan.number)
        except PlanRefusedError:
            refused.append(1)
        except Exception as error:
            broken.append(repr(error))
        finally:
            connections.close_all()

    threads = [Thread(target=accept) for _ in range(TOGETHER)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert broken == []
    assert (won, len(refused)) == ([2], TOGETHER - 1)
    told = "select count(*) from jobs_plan where state = 'published'"
    assert count(told) == 1
    told = "select count(*) from jobs_historyentry where what = 'plan published' and after = '2'"
    assert count(told) == 1


@pytest.mark.django_db(transaction=True)
def test_killed_at_any_moment_it_is_all_or_nothing(tmp_path):
    """Processes of their own, ended by SIGKILL inside the transaction: plan, rows, events, record, causes agree."""
    rained_out()
    environment = {**os.environ, **hand_over(tmp_path)}
    command = [sys.executable, "-m", "tests.killed", str(KILLS), "1", str(PROCESSES)]
    ended = subprocess.run(  # noqa: S603 (our own program)
        command, env=environment, capture_output=True, text=True, check=False
    )
    assert ended.returncode == 0, ended.stderr
    found = json.loads(ended.stdout)
    assert found["before"] + found["after"] == found["killed"] == KILLS
    assert found["by_clock"] == KILLS // 2
    assert (found["won"], found["refused"]) == (1, PROCESSES - 1)


@pytest.mark.django_db(transaction=True)
def test_cut_off_half_way_nothing_has_happened(monkeypatch):
    """The process dies in the middle of accepting, at any of three steps: plan, events and record are as before."""
    row = rained_out()
    before = state_of_things()

    def die(*args: object, **options: object) -> None:
        raise KeyboardInterrupt

    for step in ("publish_plan", "write_notices", "note_moves"):
        with monkeypatch.context() as patched:
            patched.setattr(accepting, step, die)
            with pytest.raises(KeyboardInterrupt):
                accept_answer(row, by=BY, now=NOW)
        assert state_of_things() == before, step
    assert accept_answer(row, by=BY, now=NOW).plan.state == "published"


@pytest.mark.django_db
def test_questions_do_not_grow_with_the_yards():
    """As many for three rained-out yards as for one; the ways out ask each yard's forecast besides."""
    rained_out()
    one = counted()
    for number in (5, 7):
        load_job(SMALL_YARD.replace("3 Finch", f"{number} Finch"), by=BY, now=NOW)
    three = counted()
    most = one | {"storm": one["storm"] + 2}
    assert {name: count for name, count in three.items() if count > most[name]} == {}


def counted():
    """Questions that each page asks of the database, after a day of rain on a plan of all yards."""
    plan, client, found = published_plan(), signed_in(), {}
    first = plan.rows.filter(crew__isnull=False).order_by("start")[0].start.date()
    lose_days(Lost(first, first), by=BY, now=NOW)
    answer_at_once(read_storm(NOW), NOW)
    for name, args in (("storm", []), ("told", []), ("day", [SLUG]), ("moved", [SLUG])):
        address = reverse(name, args=args)
        client.get(address)
        with CaptureQueriesContext(connection) as asked:
            assert client.get(address).status_code == 200
        found[name] = len(asked)
    return found
