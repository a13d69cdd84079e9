"""What no crew of ours does: the office sees when it falls due, logs it, and the next plan goes on from there."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from crews.models import Role
from jobs.models import Activity, Job
from jobs.services.pages.tomorrow import read_tomorrow
from jobs.services.planning.plan_jobs import plan_jobs
from tests.office import NOW, published_yard, signed_in

pytestmark = pytest.mark.django_db
LATER = NOW + timedelta(days=9)
"""Thursday 25 June, evening: the design was to be agreed by Wednesday, the yard walked and traced today."""
OFFICE = ("Agree the design", "Walk the yard", "Call for utility marks", "Trace private lines")


def begins(template: str) -> date:
    """The day on which a work begins in a plan made anew on the Thursday."""
    plan = plan_jobs(now=LATER, by="test").plan
    assert plan is not None
    return plan.rows.get(activity__template=template).start.date()


def say_done(job: Job, name: str, role: Role = Role.SCHEDULER) -> int:
    """Press Done on the day's page; the answer's status."""
    work = Activity.objects.get(name=name)
    told = {"client": str(uuid4()), "kind": "done", "on": "2026-06-25"}
    return signed_in(role).post(reverse("say-day", args=[job.slug, work.uid]), told).status_code


def test_they_stand_on_the_first_screen():
    """Work of the office by its last day, a call by its first, hired people on the day they come."""
    published_yard()
    assert [(need.what, need.by) for need in read_tomorrow(NOW).needs] == [
        ("Agree the design", "by Wed 24 Jun"),
        ("Walk the yard", "by Thu 25 Jun"),
        ("Call for utility marks", "by Thu 25 Jun"),
        ("Trace private lines", "on Thu 25 Jun"),
    ]


def test_what_was_done_holds_nothing_up_any_more(settings):
    """Not logged, it is planned again from tomorrow on, and all the yard behind it."""
    job = published_yard()
    settings.TODAY = "2026-06-25T18:00"
    body = signed_in().get(reverse("day", args=[job.slug])).content.decode()
    assert [name for name in OFFICE if f">{name}</h3>" not in body] == []
    assert begins("lay-out") == date(2026, 7, 1)
    assert {say_done(job, name) for name in OFFICE} == {302}
    assert begins("lay-out") == date(2026, 6, 26)


def test_only_the_office_logs_them(settings):
    """A crew's lead logs what his crew does."""
    job = published_yard()
    settings.TODAY = "2026-06-25T18:00"
    assert say_done(job, "Walk the yard", Role.LEAD) == 403


def test_who_does_them_is_told():
    """The office is no stranger, and one person is no people."""
    job = published_yard()
    work = Activity.objects.get(name="Walk the yard")
    body = signed_in().get(reverse("activity", args=[job.slug, work.uid])).content.decode()
    assert "<dd>Office</dd>" in body
    assert "with the usual 1 person" in body
