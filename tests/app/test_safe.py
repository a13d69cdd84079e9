"""What is safe to promise is told before anything is published, and promised by a button."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse

from crews.models import Role, TimeOff
from jobs.models import HistoryEntry, Outlook, Plan
from jobs.services.pages.frame import promise_words
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.sky.climate import choose_place
from tests.office import NOW, open_office, signed_in, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    """A small yard, nothing promised, planned but not published."""
    open_office()
    made = small_job()
    made.promised_on = None
    made.save()
    plan_jobs(now=NOW, by="test")
    return made


def page_of(client) -> str:
    """The part as the plan page fetches it."""
    return client.get(reverse("safe")).content.decode()


def test_a_proposal_has_odds_before_it_is_published(job):
    """Said once; asked again, the same stands; a yard of unknown climate says so."""
    client = signed_in()
    first = page_of(client)
    said = Outlook.objects.get()
    assert said.plan.state == Plan.State.PROPOSED
    assert "No climate is known here" in first
    assert (
        page_of(client).count(f"Promise {said.p80:%a} ")
        == first.count(f"Promise {said.p80:%a} ")
        == 1
    )
    assert Outlook.objects.count() == 1


def test_the_safe_day_is_promised_by_a_button(job):
    """Once: then its odds stand there, and the record has it."""
    choose_place(job, "Asheville")
    client = signed_in()
    page_of(client)
    assert client.post(reverse("promise", args=[job.slug])).url == reverse("plan")
    job.refresh_from_db()
    assert job.promised_on == Outlook.objects.earliest("pk").p80.astimezone(NOW.tzinfo).date()
    again = page_of(client)
    assert "kept in " in again
    assert "<button" not in again.partition('id="safe"')[2].partition("</section>")[0]
    assert HistoryEntry.objects.filter(what="promised").count() == 1
    client.post(reverse("promise", args=[job.slug]))
    assert HistoryEntry.objects.filter(what="promised").count() == 1


def test_a_promise_does_not_make_the_proposal_old(job):
    """What is promised is no sooner than what is planned: the plan is published without planning again."""
    client, plan = signed_in(), Plan.objects.get()
    told = client.post(reverse("promise", args=[job.slug]), follow=True).content.decode()
    assert f"Plan {plan.number} keeps it." in told
    client.post(reverse("publish-plan", args=[plan.number]))
    plan.refresh_from_db()
    assert plan.state == Plan.State.PUBLISHED


def test_a_proposal_that_was_old_stays_so(job):
    """A promise does not hide that something else has changed."""
    client, plan = signed_in(), Plan.objects.get()
    TimeOff.objects.create(first=date(2026, 12, 24), last=date(2026, 12, 24), why="holiday")
    told = client.post(reverse("promise", args=[job.slug]), follow=True).content.decode()
    assert "Plan again to plan by it." in told
    client.post(reverse("publish-plan", args=[plan.number]))
    plan.refresh_from_db()
    assert plan.state == Plan.State.PROPOSED


def test_others_may_look_but_not_promise(job):
    """A viewer reads the odds and has no button."""
    assert "<button" not in page_of(signed_in(Role.VIEWER)).partition('id="safe"')[2]
    assert signed_in(Role.VIEWER).post(reverse("promise", args=[job.slug])).status_code == 403


def test_without_a_plan_nothing_is_said():
    """And the page says what to do first."""
    open_office()
    assert "Nothing is planned yet" in page_of(signed_in())


def test_a_promise_made_after_the_plan_is_told_in_days_of_the_calendar(job):
    """The plan did not know it: its working days are those of another promise, or of none."""
    plan = Plan.objects.get()
    row = plan.jobs.get()
    job.promised_on = row.finish.date() + timedelta(days=21)
    assert promise_words(row, job) == "21 days before the promise"
    job.promised_on = row.finish.date() - timedelta(days=1)
    assert promise_words(row, job) == "1 day after the promise"
    job.promised_on = row.finish.date() + timedelta(days=21)
    job.save()
    planned = plan_jobs(now=NOW, by="test").plan.jobs.get()
    assert promise_words(planned, job) == "15 working days before the promise"


def test_a_proposal_made_before_a_promise_is_not_offered_to_phones(job):
    """It would be refused: planning again is what is left to press."""
    client, press = signed_in(), "Publish plan 1 to phones"
    assert press in client.get(reverse("plan")).content.decode()
    job.promised_on = date(2026, 9, 1)
    job.save()
    body = client.get(reverse("plan")).content.decode()
    assert press not in body
    assert "it cannot be published any more" in body
