"""The demo: three invented yards, planned and published; its JSON read by nobody's code but this."""

from __future__ import annotations

import itertools
import json
from collections import defaultdict
from datetime import datetime, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from crews.models import CalendarEvent, FeedLink
from jobs.models import Company, HistoryEntry, Job, Plan
from jobs.services.upkeep.demo import NotADemoError, make_demo
from tests.office import the_demo

pytestmark = pytest.mark.django_db


def plan_json() -> dict:
    """What ``plan --json --dry-run`` prints."""
    out = StringIO()
    call_command("plan", "--json", "--dry-run", stdout=out)
    return json.loads(out.getvalue())


def moment(text: str) -> datetime:
    """An ISO time with its offset."""
    return datetime.fromisoformat(text)


READ: dict[str, dict] = {}
"""The demo's plan, read once: the tests below only look at what was printed."""


@pytest.fixture
def told():
    """The demo's plan as JSON."""
    if not READ:
        the_demo()
        READ["plan"] = plan_json()
    return READ["plan"]


def test_three_jobs_keep_their_promises(told):
    """Each finishes on or before the day promised."""
    kept = {j["slug"]: j["finish"][:10] <= j["promise"] for j in told["jobs"]}
    assert kept == {"12-alder-bend": True, "31-millrace-lane": True, "7-sparrow-hill-road": True}


def test_no_crew_and_no_machine_is_in_two_places(told):
    """Segment by segment, over all yards."""
    used = defaultdict(list)
    for activity in told["activities"]:
        for thing in [activity["crew"], *activity["machines"]]:
            if thing:
                used[thing] += [
                    (moment(s["start"]), moment(s["finish"]), activity["id"])
                    for s in activity["segments"]
                ]
    clashes = []
    for thing, spans in used.items():
        spans.sort()
        clashes += [
            (thing, one[2], other[2])
            for one, other in itertools.pairwise(spans)
            if other[0] < one[1]
        ]
    assert clashes == []


def test_every_elapsed_wait_and_every_at_most_is_kept(told):
    """Cure, kill, settling and setting, on the clock on the wall."""
    rows = {a["id"]: a for a in told["activities"]}
    broken, waits = [], 0
    for link in told["links"]:
        if link["clock"] != "elapsed" or rows[link["to"]]["done_share"] > 0:
            continue
        ends = link["relation"].split("-to-")
        events = {"finish": "finish", "start": "start"}
        before = moment(rows[link["from"]][events[ends[0]]])
        after = moment(rows[link["to"]][events[ends[1]]])
        passed = (after - before) / timedelta(hours=1)
        waits += link["wait_hours"] > 0
        most = link["at_most_hours"]
        if passed < link["wait_hours"] or (most is not None and passed > most):
            broken.append((rows[link["from"]]["name"], rows[link["to"]]["name"]))
    assert broken == []
    assert waits > 20, "the demo is full of waits"


def test_the_chain_is_complete_to_each_finish(told):
    """Its last work ends when the job ends; each begins no earlier than the one before it."""
    rows = {a["id"]: a for a in told["activities"]}
    for job in told["jobs"]:
        chain = [rows[uid] for uid in job["chain"]]
        assert chain[-1]["finish"] == job["finish"]
        starts = [moment(row["start"]) for row in chain]
        assert starts == sorted(starts)


def test_nothing_is_planned_before_its_early_start_or_after_its_late_finish(told):
    """Early dates are a floor; late finishes are not before the planned ones."""
    open_work = [a for a in told["activities"] if a["done_share"] == 0]
    assert [a["name"] for a in open_work if moment(a["start"]) < moment(a["early_start"])] == []
    assert [a["name"] for a in open_work if moment(a["finish"]) > moment(a["late_finish"])] == []


def test_every_open_work_says_why_it_is_not_sooner(told):
    """One sentence at least."""
    silent = [a["name"] for a in told["activities"] if a["done_share"] == 0 and not a["why"]]
    assert silent == []


def test_running_it_again_changes_nothing_but_its_links():
    """Safe to run again: same jobs, same plan, same events."""
    the_demo()
    events = list(CalendarEvent.objects.order_by("uid").values_list("uid", "sequence"))
    again = make_demo()
    assert (again.plan, again.jobs) == (Plan.objects.get().number, 3)
    assert events == list(CalendarEvent.objects.order_by("uid").values_list("uid", "sequence"))


def test_fresh_makes_it_all_anew():
    """Old rows are gone, not doubled."""
    the_demo()
    make_demo(fresh=True)
    assert Job.objects.count() == 3
    assert HistoryEntry.objects.filter(what="plan published").count() == 1


def test_a_real_company_is_never_touched():
    """Not even with --fresh; the command exits with 2."""
    company = Company.objects.create(name="A real one")
    with pytest.raises(NotADemoError, match="A real one"):
        make_demo(fresh=True)
    with pytest.raises(CommandError) as error:
        call_command("demo", "--no-serve", "--fresh")
    assert error.value.returncode == 2
    assert Company.objects.get() == company


def test_the_command_prints_addresses_that_open():
    """Office, crew feed and homeowner, as printed."""
    out = StringIO()
    call_command("demo", "--no-serve", stdout=out)
    printed = dict(line.split(":", 1) for line in out.getvalue().splitlines()[1:])
    feed, homeowner = (printed[key].split()[0] for key in ("Crew feed", "Homeowner"))
    base = "http://127.0.0.1:8000"
    assert Client().get(feed.removeprefix(base)).content.startswith(b"BEGIN:VCALENDAR")
    assert "Next:" in Client().get(homeowner.removeprefix(base)).content.decode()
    assert FeedLink.objects.count() == 2
