"""A second crew lent to a work by hand: how long it takes, who is held, whose calendars show it.

Today is Tuesday 16 June 2026; the small yard is planned from Monday 22 June.
"""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from crews.models import CalendarEvent, Crew, CrewSkill, Person, Role, TimeOff
from jobs.models import Activity, HistoryEntry, PlanRow
from jobs.services.mail.evening import evening_drafts
from jobs.services.pages.day import read_day
from jobs.services.pages.plan import read_plan_page
from jobs.services.planning.accept_plan import PlanRefusedError, accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.telling.speech import say_time
from jobs.services.world.overtime import used_in
from jobs.services.world.read_world import read_world
from tests.office import NOW, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def work() -> Activity:
    """Two days of digging for two people of the ground crew, at most three in each other's way."""
    open_office()
    small_job()
    Activity.objects.filter(template="dig-out").update(
        days=2, days_low=2, days_high=2, people=2, least=2
    )
    CrewSkill.objects.create(crew=Crew.objects.get(slug="stone-crew"), skill="grading", people=1)
    return Activity.objects.get(template="dig-out")


def lend(work: Activity, crew: str, **told: str):
    """Post the form of the work's page as the owner."""
    revision = Activity.objects.get(pk=work.pk).revision
    facts = {"does": "lend", "crew": crew, "revision": str(revision)} | told
    address = reverse("by-hand", args=[work.job.slug, work.uid])
    return signed_in().post(address, facts, follow=True)


def test_the_people_of_both_count(work):
    """Two and one are three: 2 days x (2/3)^0.9 = 1.39 days, which is six slots instead of eight."""
    assert read_world(NOW).world.works[work.uid].crews == {"ground-crew": 8}
    lend(work, "stone-crew")
    found = read_world(NOW).world.works[work.uid]
    assert (found.crews, found.lent) == ({"ground-crew": 6}, "stone-crew")


def test_both_crews_are_held_and_shown_it(work):
    """In the plan, on the story, in both calendars and on the crews page."""
    lend(work, "stone-crew")
    plan = published_plan()
    row = plan.rows.get(activity=work)
    assert (row.crew.slug, row.lent.slug, row.people) == ("ground-crew", "stone-crew", 3)
    subjects = CalendarEvent.objects.filter(activity=work.uid).values_list("subject", flat=True)
    assert {"crew:ground-crew", "crew:stone-crew"} <= set(subjects)
    event = CalendarEvent.objects.filter(activity=work.uid, subject="crew:stone-crew").first()
    assert "Ground crew with the Stone crew, 3 people" in event.notes
    others = plan.rows.filter(crew__slug="stone-crew", start__lt=row.finish, finish__gt=row.start)
    assert not others.exists()
    client = signed_in()
    story = client.get(reverse("activity", args=[work.job.slug, work.uid])).content.decode()
    assert "Ground crew with the Stone crew, 3 people" in story


def test_both_are_told_of_it_in_the_evening(work):
    """At the same hour, whoever's work it is; the helping crew is not told that nothing is planned."""
    lend(work, "stone-crew")
    row = published_plan().rows.get(activity=work)
    begins = row.start.astimezone(NOW.tzinfo)
    eve = begins.replace(hour=18, minute=0) - timedelta(days=1)
    texts = {it.whom: it.text for it in evening_drafts(eve)}
    line = f"{say_time(begins)}  3 Finch Street: {work.name}"
    assert [texts[name].count(line) for name in ("Ground crew", "Stone crew")] == [1, 1]


def test_the_plan_page_counts_days_of_the_crew_that_helps(work):
    """A proposal with one more crew on a work of several days moves that work, and as many crew-days."""
    published_plan()
    made = plan_jobs(now=NOW, by="test").plan
    row = made.rows.get(activity=work)
    row.lent = Crew.objects.get(slug="stone-crew")
    row.save()
    page = read_plan_page(NOW)
    assert [move.uid for move in page.moves] == [work.uid]
    assert page.crew_days == len(row.segments)


def test_who_leads_the_crew_that_helps_may_log_it(work):
    """On the day's page as on the phone; it names both crews."""
    lend(work, "stone-crew")
    row = published_plan().rows.get(activity=work)
    client = signed_in(Role.LEAD)
    lead = Person.objects.get(username="lead@example.com")
    Crew.objects.filter(pk=row.lent_id).update(lead=lead)
    page = read_day(work.job, lead, row.start.astimezone(NOW.tzinfo))
    (tap,) = [tap for tap in page.works if tap.uid == work.uid]
    assert (tap.crew, tap.may) == ("Ground crew with the Stone crew", True)
    told = {"client": str(uuid4()), "kind": "started"}
    address = reverse("say-day", args=[work.job.slug, work.uid])
    assert client.post(address, told).status_code == 302


def test_saturdays_of_the_crew_that_helps_are_kept_with_the_plan(work):
    """Of two optional days the one on which it helps is used."""
    ground, stone = (Crew.objects.get(slug=slug) for slug in ("ground-crew", "stone-crew"))
    days = [["2026-06-27T07:00:00-04:00", "2026-06-27T15:00:00-04:00", True]]
    row = PlanRow(activity=work, crew=ground, lent=stone, segments=days)
    asked = [
        {"crew": "stone-crew", "day": day, "saves": []} for day in ("2026-06-27", "2026-07-11")
    ]
    assert used_in(asked, [row]) == asked[:1]


def test_a_work_waits_until_both_are_there(work):
    """With the stone crew off for the week of digging it is dug the week after."""
    lend(work, "stone-crew")
    before = published_plan().rows.get(activity=work)
    first = before.start.date()
    TimeOff.objects.create(
        crew=Crew.objects.get(slug="stone-crew"), first=first, last=first.replace(day=10)
    )
    after = published_plan().rows.get(activity=work)
    assert after.start.date() > first.replace(day=10)


def test_a_proposal_made_before_is_refused(work):
    """The world has changed: it is told, and nothing is published."""
    made = plan_jobs(now=NOW, by="test").plan
    lend(work, "stone-crew")
    with pytest.raises(PlanRefusedError, match="Something has changed"):
        accept_plan(made, by="test", now=NOW)


def test_taken_away_again(work):
    """And both stand in the record."""
    lend(work, "stone-crew")
    lend(work, "")
    assert Activity.objects.get(pk=work.pk).lent is None
    last, first = HistoryEntry.objects.filter(what="crew lent")[:2]
    assert (first.after["second crew"], last.before["second crew"]) == ("Stone crew", "Stone crew")
    assert "second crew" not in last.after


@pytest.mark.parametrize("crew", ["green-crew", "no-crew", "' OR 1=1", "x" * 500])
def test_only_a_crew_that_can_do_it(work, crew):
    """The green crew does not grade; nothing is kept."""
    answer = lend(work, crew)
    assert answer.status_code == 422
    assert "none of the choices" in answer.content.decode()
    assert Activity.objects.get(pk=work.pk).lent is None


def test_the_second_of_two_editors_is_told(work):
    """A pin was set meanwhile."""
    stale = str(work.revision)
    lend(work, "stone-crew")
    answer = lend(work, "", revision=stale)
    assert "nothing was overwritten" in answer.content.decode()
    assert Activity.objects.get(pk=work.pk).lent.slug == "stone-crew"


def test_nobody_is_left_to_lend(work):
    """Where one crew alone can do it there is no form."""
    CrewSkill.objects.filter(crew__slug="stone-crew", skill="grading").delete()
    address = reverse("by-hand", args=[work.job.slug, work.uid])
    assert "Lend it a second crew" not in signed_in().get(address).content.decode()
