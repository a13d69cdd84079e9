"""Two days of rain on a whole yard: every limit of the trade holds in what is accepted, and all tell one story.

Waits are those of the published checks: two sprays four weeks apart and two weeks to the strip (K-State, turf pages);
concrete seven days before stone (UFGS 03301A); joints a day after the bed, and loam a day and a half to dry
after 0.7 in (common practice).
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.urls import reverse
from icalendar import Calendar

from jobs.models import Answer, Job, LostTime, Plan
from jobs.scheduling.storm.ways_out import Way
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.files.load_job import load_job
from jobs.services.pages.homeowner import read_homeowner
from jobs.services.pages.moved import read_ledger
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.storm.accept_storm import accept_answer
from jobs.services.storm.offer import answer_better, read_storm
from jobs.services.telling.speech import say_day
from tests.office import open_office, signed_in
from tests.put_back import put_back

pytestmark = pytest.mark.django_db
YARD = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "12-alder-bend.toml"
EASTERN = ZoneInfo("America/New_York")
EVENING = datetime(2026, 6, 22, 18, tzinfo=EASTERN)
"""The evening before the second spray, four weeks after the first."""
TUESDAY, WEDNESDAY = date(2026, 6, 23), date(2026, 6, 24)
RAIN = Decimal("0.7")


@put_back
def largest_yard() -> Job:
    """Return the demo's largest yard, planned and published; its turf was first sprayed on Tuesday 26 May."""
    open_office()
    job = load_job(YARD.read_text("utf-8"), by="test", now=EVENING)
    made = plan_jobs(now=EVENING, by="test")
    accept_plan(made.plan, by="test", now=EVENING)
    return job


@pytest.fixture
def yard(settings) -> Job:
    """That yard, on the evening before its second spray."""
    settings.TODAY = EVENING.strftime("%Y-%m-%dT%H:%M")
    return largest_yard()


def on_the_page() -> None:
    """Say it, look for better ways, accept steady: by its buttons."""
    office = signed_in()
    said = {"when": "range", "first": TUESDAY, "last": WEDNESDAY, "whom": "all", "cause": "rain"}
    office.post(reverse("storm-lose"), {**said, "rain_in": RAIN})
    office.post(reverse("storm-better"))
    row = Answer.objects.filter(way="steady").latest("pk")
    office.post(reverse("accept-way", args=[row.pk]))


def by_the_command() -> None:
    """The same in one line."""
    told = ("--from", f"{TUESDAY}", "--days", "2", "--rain", f"{RAIN}", "--limit", "0.3")
    call_command("lose_days", *told, "--accept", "steady")


def rows() -> dict[str, object]:
    """What stands in the published plan, first of each kind of work."""
    plan = Plan.objects.get(state="published")
    found = {}
    for row in plan.rows.select_related("activity", "crew").order_by("start"):
        found.setdefault(row.activity.template, row)
    return found


def test_after_two_days_of_rain_the_limits_of_the_trade_hold(yard):
    """Spray, strip, stone and joints wait as long as ever, and the loam is left alone until it is dry."""
    lose_days(Lost(TUESDAY, WEDNESDAY, rain_in=RAIN), by="test", now=EVENING)
    offered = answer_better(read_storm(EVENING), EVENING, ways=(Way.STEADY,), seconds=0.3)
    accept_answer(offered[0].row, by="test", now=EVENING)
    at = rows()
    first = yard.activities.get(template="spray-turf-1").finished_at
    assert at["spray-turf-2"].start.astimezone(EASTERN).date() > WEDNESDAY
    assert at["spray-turf-2"].start - first >= timedelta(days=27, hours=12)
    assert at["strip-sod"].start - at["spray-turf-2"].finish >= timedelta(days=14)
    assert at["set-stone"].start - at["pour-slab"].finish >= timedelta(days=7)
    assert at["point-joints"].start - at["set-stone"].finish >= timedelta(hours=24)
    (drying,) = LostTime.objects.filter(cause="dry-out")
    assert (drying.first, drying.last) == (date(2026, 6, 25), date(2026, 6, 25))


@pytest.mark.parametrize("say_so", [on_the_page, by_the_command])
def test_calendar_homeowner_and_ledger_tell_the_same_story(yard, capsys, say_so):
    """Whether it was said on the page or by the command: spray day, finish and cause agree everywhere."""
    say_so()
    capsys.readouterr()
    plan = Plan.objects.get(state="published")
    assert (plan.number, plan.method) == (2, "steady")

    spray = rows()["spray-turf-2"]
    call_command("feed", "crew", spray.crew.slug)
    events = Calendar.from_ical(capsys.readouterr().out).walk("VEVENT")
    told = [event for event in events if "Second spray" in event["SUMMARY"]]
    (standing,) = [event for event in told if event.get("STATUS") != "CANCELLED"]
    begins = standing.decoded("DTSTART")
    day = begins.astimezone(EASTERN).date() if isinstance(begins, datetime) else begins
    assert day == spray.start.astimezone(EASTERN).date() > WEDNESDAY

    finish = plan.jobs.get(job=yard).finish.astimezone(EASTERN).date()
    assert read_homeowner(yard, EVENING).finish == say_day(finish)
    ledger, _ = read_ledger(yard)
    days = sum(share.days for change in ledger.changes for share in change.shares)
    assert (ledger.today, days) == (finish, (finish - ledger.first).days)
