"""Plan, look, publish: proposals, acceptance, calendars and the record agree, or nothing happens."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from crews.models import CalendarEvent, Crew, CrewSkill, TimeOff
from jobs.models import Activity, HistoryEntry, Job, Outlook, Plan, PlanRow
from jobs.scheduling.errors import BadWorld, SchedulingError
from jobs.services.planning.accept_plan import PlanRefusedError, accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.telling.speech import say_day
from jobs.services.world.revision import world_revision
from tests.office import NOW, open_office, published_plan, signed_in

pytestmark = pytest.mark.django_db


def test_a_plan_is_a_proposal_until_somebody_publishes_it(job):
    """Nothing reaches phones from planning alone."""
    made = plan_jobs(now=NOW, by="test")
    assert made.plan.state == Plan.State.PROPOSED
    assert made.plan.rows.count() == job.activities.filter(retired=False).count()
    assert CalendarEvent.objects.count() == 0


def test_planning_again_drops_the_older_proposal(job):
    """One proposal at a time; numbers go on."""
    first, second = (plan_jobs(now=NOW, by="test").plan for _ in range(2))
    first.refresh_from_db()
    assert (first.state, second.number) == (Plan.State.DROPPED, first.number + 1)


def test_nothing_starts_before_its_job_may(job):
    """The yard is ours from Monday 22 June; outside work and requests too."""
    plan = plan_jobs(now=NOW, by="test").plan
    first = plan.rows.order_by("start")[0]
    assert first.start.date().isoformat() >= "2026-06-22"


def test_publishing_writes_events_record_and_state_together(job):
    """Every crew row is in a calendar; the record says who."""
    plan = published_plan()
    shown = set(CalendarEvent.objects.filter(kind="work").values_list("activity", flat=True))
    with_crew = plan.rows.filter(crew__isnull=False)
    assert shown == set(with_crew.values_list("activity__uid", flat=True))
    assert HistoryEntry.objects.filter(what="plan published", by="test").count() == 1


def test_publishing_an_unchanged_plan_again_changes_no_event(job):
    """Same world, same plan: no SEQUENCE rises."""
    published_plan()
    before = list(CalendarEvent.objects.order_by("uid").values_list("uid", "sequence", "start"))
    published_plan()
    assert before == list(
        CalendarEvent.objects.order_by("uid").values_list("uid", "sequence", "start")
    )
    assert Plan.objects.filter(state=Plan.State.PUBLISHED).count() == 1


def test_a_moved_work_keeps_its_event(job):
    """A day off pushes work: same UID, higher SEQUENCE."""
    plan = published_plan()
    row = plan.rows.filter(crew__isnull=False).order_by("start")[0]
    old = CalendarEvent.objects.filter(activity=row.activity.uid, kind="work").earliest("start")
    day = row.start.date()
    TimeOff.objects.create(first=day, last=day + timedelta(days=3), why="all at a wedding")
    published_plan()
    new = CalendarEvent.objects.get(uid=old.uid)
    assert new.sequence == old.sequence + 1
    assert (new.start > old.start) or new.status == "CANCELLED"


def test_a_changed_world_is_told_and_nothing_is_published(job):
    """Somebody edits while the proposal lies open."""
    proposal = plan_jobs(now=NOW, by="test").plan
    Job.objects.get(pk=job.pk).save()
    with pytest.raises(PlanRefusedError, match="Something has changed"):
        accept_plan(proposal, by="test", now=NOW)
    assert CalendarEvent.objects.count() == 0


def test_the_revision_changes_with_every_edit_that_matters(job):
    """Any of activity, crew skill and time off makes plans stale; reading does not."""
    seen = {world_revision()}
    assert world_revision() in seen
    for row in (Activity.objects.first(), CrewSkill.objects.first()):
        row.save()
        seen.add(world_revision())
    TimeOff.objects.create(first=NOW.date(), last=NOW.date())
    seen.add(world_revision())
    assert len(seen) == 4


def test_a_published_plan_cannot_be_published_again(job):
    """Only proposals can."""
    plan = published_plan()
    with pytest.raises(PlanRefusedError, match="published"):
        accept_plan(plan, by="test", now=NOW)


def test_without_any_crew_there_is_no_plan_and_the_way_out_is_named(job):
    """Somebody hired may fill in for a crew, but not for a company."""
    Crew.objects.all().delete()
    with pytest.raises(BadWorld, match="There is no crew that could do") as told:
        plan_jobs(now=NOW, by="test")
    assert "crews page" in told.value.remedy


def test_an_empty_company_is_told_what_to_do():
    """Nothing to plan is not an error trace."""
    open_office()
    with pytest.raises(SchedulingError, match="nothing to plan"):
        plan_jobs(now=NOW, by="test")


KEYS = {
    "top": "status bound objective seconds seed revision jobs activities links holds passages",
    "jobs": "slug name start finish p50 p80 promise float_hours",
    "activities": "id job name template zone start finish segments crew people machines wait_until "
    "early_start late_finish float_hours critical done_share why",
    "links": "from to relation wait_hours clock at_most_hours rule",
    "holds": "zone from to exempt",
    "passages": "name from to share",
}
"""The contract of ``plan --json``."""


def test_the_json_of_a_plan_has_every_key_of_the_contract(job):
    """Each list's rows carry their keys, and times carry their offset."""
    out = StringIO()
    call_command("plan", "--json", "--dry-run", stdout=out)
    told = json.loads(out.getvalue())
    assert set(KEYS["top"].split()) <= set(told)
    for name in ("jobs", "activities", "links", "passages"):
        assert set(KEYS[name].split()) <= set(told[name][0]), name
    assert told["activities"][0]["start"].endswith("-04:00")
    assert told["jobs"][0]["p50"] is None, "and says no odds of it"
    assert Plan.objects.count() == 0, "a dry run stores nothing"


def test_the_json_of_a_stored_plan_tells_its_odds(job):
    """A proposal nobody has looked at yet, too: even odds and safe day as they were kept of it."""
    out = StringIO()
    call_command("plan", "--json", stdout=out)
    said = Outlook.objects.get(plan=Plan.objects.get())
    (row,) = json.loads(out.getvalue())["jobs"]
    assert datetime.fromisoformat(row["p50"]) == said.p50
    assert datetime.fromisoformat(row["p80"]) == said.p80


def test_every_critical_chain_runs_from_a_beginning_to_the_finish(job):
    """The last work of the chain ends when the job does; all of it is critical."""
    made = plan_jobs(now=NOW, by="test")
    planned = made.plan.jobs.get()
    rows = {row.activity.uid: row for row in made.plan.rows.select_related("activity")}
    assert rows[planned.chain[-1]].finish == planned.finish
    assert all(rows[uid].critical for uid in planned.chain)
    assert rows[planned.chain[-1]].activity.template == "walk-through"


def test_the_command_publishes(job):
    """``plan --publish`` ends with the plan on phones."""
    call_command("plan", "--publish", stdout=StringIO())
    assert Plan.objects.get().state == Plan.State.PUBLISHED
    assert PlanRow.objects.filter(crew__isnull=False).exists()


def test_the_command_exits_with_two_when_nothing_can_be_planned():
    """One line, no trace."""
    open_office()
    with pytest.raises(CommandError) as error:
        call_command("plan")
    assert error.value.returncode == 2


def test_an_at_most_that_was_missed_stops_nobody(job):
    """The path was done a week ago and its follower had two days: it is planned all the same."""
    path = Activity.objects.get(template="dg-path")
    clean = Activity.objects.get(template="clean-up")
    job.links.create(before=path, after=clean, at_most=2880, why=["by-hand", {"why": "test"}])
    path.started_at, path.finished_at = NOW - timedelta(days=8), NOW - timedelta(days=7)
    path.done_share = 100
    path.save()
    plan = plan_jobs(now=NOW, by="test").plan
    assert plan.rows.get(activity=clean).start > NOW


def test_a_story_tells_until_when_nothing_else_moves(job):
    """By the plan's free finish: on the last day, on a day between, on the day it is planned to end."""
    published_plan()
    rows = PlanRow.objects.filter(critical=False, float_hours__gt=16, activity__finished_at=None)
    row = rows.select_related("activity").latest("float_hours")
    page = reverse("activity", args=[job.slug, row.activity.uid])
    assert row.finish <= row.free_finish <= row.late_finish

    def told(free):
        PlanRow.objects.filter(pk=row.pk).update(free_finish=free)
        return signed_in().get(page).content.decode()

    assert ", and nothing else moves" in told(row.late_finish)
    assert "; other work moves with it" in told(row.finish)
    between = row.late_finish - timedelta(days=1)
    assert f"; to {say_day(between)} nothing else moves" in told(between)
    assert "moves" not in told(None)
    assert "on average, give or take" in told(None)
