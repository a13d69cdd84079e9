"""Gate codes: the crew that stands before the gate sees it, and nothing else ever does."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from crews.access import PHONE_COOKIE
from crews.models import Crew, Role
from crews.services.crew_phone import give_out, set_up
from crews.services.today import wall_now
from jobs.models import GateCode, HistoryEntry, Job
from jobs.services.company.gate import code_for
from jobs.services.files.export_job import export_job
from tests.office import NOW, SLUG, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
CODE = "4711#"
KEEP = reverse("keep-gate", args=[SLUG])


@pytest.fixture
def first():
    """The first work of a crew in the yard, whose gate has a code."""
    open_office()
    small_job()
    plan = published_plan()
    signed_in().post(KEEP, {"code": CODE})
    return plan.rows.filter(crew__isnull=False).order_by("start")[0]


def hand(crew):
    """Return a browser that is a crew's phone."""
    _, token = give_out(crew, "Ines", wall_now())
    client = Client()
    client.cookies[PHONE_COOKIE] = set_up(token, wall_now())[1]
    return client


def test_a_crew_sees_it_from_a_day_before_its_work(first):
    """To the hour."""
    assert code_for(first.crew, SLUG, first.start - timedelta(hours=24)).code == CODE
    assert code_for(first.crew, SLUG, first.start - timedelta(hours=25)) is None


def test_a_crew_that_does_not_work_there_never_sees_it(first):
    """Whatever the hour."""
    for crew in Crew.objects.all():
        if not crew.plan_rows.filter(activity__job__slug=SLUG).exists():
            assert code_for(crew, SLUG, first.start) is None


def test_it_shows_on_tap_and_is_kept_nowhere(first, settings):
    """Not on the page that a phone keeps for when there is no signal."""
    settings.TODAY = first.start.astimezone(NOW.tzinfo).strftime("%Y-%m-%dT%H:%M")
    phone = hand(first.crew)
    page = phone.get(reverse("crew-page")).content.decode()
    assert (CODE in page, reverse("crew-gate", args=[SLUG]) in page) == (False, True)
    shown = phone.get(reverse("crew-gate", args=[SLUG]))
    assert CODE in shown.content.decode()
    assert shown["Cache-Control"] == "no-store"


def test_nobody_without_a_crews_phone_sees_it(first):
    """Not even the office, which knows it."""
    address = reverse("crew-gate", args=[SLUG])
    assert Client().get(address).status_code == 404
    assert signed_in().get(address).status_code == 404


def test_it_stands_in_no_calendar_file_page_or_record(first, capsys):
    """Feeds of everybody, the job's file, the yard's page, the history."""
    for feed in (("all",), ("crew", first.crew.slug), ("homeowner", SLUG)):
        call_command("feed", *feed)
    told = capsys.readouterr().out
    told += export_job(Job.objects.get())
    told += signed_in().get(reverse("yard", args=[SLUG])).content.decode()
    told += str(list(HistoryEntry.objects.values()))
    assert CODE not in told
    assert HistoryEntry.objects.get(what="gate code").after == "kept"


def test_it_can_be_taken_away(first):
    """By keeping an empty one."""
    signed_in().post(KEEP, {"code": ""})
    assert not GateCode.objects.exists()


def test_a_novel_is_no_code(first):
    """What was kept stays."""
    signed_in().post(KEEP, {"code": "x" * 61})
    assert GateCode.objects.get().code == CODE


def test_only_who_may_edit_keeps_one(first):
    """A lead reads it at the gate, and does not change it."""
    assert signed_in(Role.LEAD).post(KEEP, {"code": "1"}).status_code == 403
