"""Optional Saturdays end to end: told of a crew, asked for by a plan, kept with it, on phones.

Today is Tuesday 16 June 2026. The small yard is planned from Monday 22 June and its walk-through is on
Tuesday 7 July; Friday 3 July is a holiday.
"""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from crews.models import CalendarEvent, Crew, TimeOff
from jobs.models import Job, Plan
from jobs.scheduling.storm.ways_out import Way, WayOut
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.storm.accept_storm import undo
from jobs.services.storm.money import read_prices, say_money
from jobs.services.storm.offer import answer_better, read_storm
from jobs.services.world.read_world import read_world
from tests.office import NOW, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
NEW_YORK = ZoneInfo("America/New_York")


@pytest.fixture
def job():
    """The small yard, promised for Monday 6 July: a day too soon without a Saturday.

    The Fourth is a Saturday and the only one of use; this company keeps it on the Friday alone.
    """
    open_office()
    TimeOff.objects.filter(first=date(2026, 7, 4)).delete()
    yard = small_job()
    Job.objects.update(promised_on=date(2026, 7, 6))
    return yard


def willing(*slugs: str) -> None:
    """Let crews be asked for Saturdays, at 300 dollars."""
    Crew.objects.filter(slug__in=slugs).update(saturdays=True, saturday_price=300)


def worked_on(plan: Plan) -> set[str]:
    """Saturdays on which a crew works."""
    days = {
        start[:10] for row in plan.rows.filter(crew__isnull=False) for start, *_ in row.segments
    }
    return {day for day in days if date.fromisoformat(day).weekday() == 5}


def finish(plan: Plan) -> date:
    """The day of the walk-through."""
    return plan.jobs.get().finish.astimezone(NEW_YORK).date()


def test_nobody_is_asked_unless_the_crew_says_so(job):
    """The promise is missed by a day, and no crew works on a Saturday."""
    plan = published_plan()
    assert (finish(plan), plan.overtime, worked_on(plan)) == (date(2026, 7, 7), [], set())


def test_the_fewest_saturdays_that_keep_the_promise(job):
    """All three crews may be asked; one day is, and the plan page says what for and what it costs."""
    willing("ground-crew", "stone-crew", "green-crew")
    plan = published_plan()
    assert finish(plan) <= date(2026, 7, 6)
    assert len(plan.overtime) == len(worked_on(plan)) == 1
    [asked] = plan.overtime
    assert asked["saves"] == [[job.uid, 1]]
    page = signed_in().get(reverse("plan")).content.decode()
    assert "Saturdays this plan asks for" in page
    assert "saves 1 day of the promise of 3 Finch Street" in page
    assert "about $300.00" in page


def test_a_promise_that_is_kept_asks_for_nothing(job):
    """With the promise a day later nobody works on a Saturday, willing or not."""
    Job.objects.update(promised_on=date(2026, 7, 7))
    willing("ground-crew", "stone-crew", "green-crew")
    plan = published_plan()
    assert (plan.overtime, worked_on(plan)) == ([], set())


def test_the_saturday_stands_while_the_plan_does(job):
    """It is open in the world read afterwards, on phones, and shut again once a plan needs none."""
    willing("ground-crew", "stone-crew", "green-crew")
    plan = published_plan()
    [asked] = plan.overtime
    day = date.fromisoformat(asked["day"])
    crew = read_world(NOW).world.crews[asked["crew"]]
    slot = next(iter(read_world(NOW).world.axes.values())).slot(day, 1)
    assert crew.open >> slot & 1
    events = CalendarEvent.objects.filter(subject=f"crew:{asked['crew']}")
    assert any(event.start.astimezone(NEW_YORK).date() == day for event in events)
    Job.objects.update(promised_on=date(2026, 7, 31))
    later = published_plan()
    assert later.overtime == []
    assert not read_world(NOW).world.crews[asked["crew"]].open >> slot & 1


def test_a_proposal_with_saturdays_can_be_accepted_and_undone(job):
    """The judge opens what the proposal asks for, and nothing else; undoing shuts it again."""
    first = published_plan()
    willing("ground-crew", "stone-crew", "green-crew")
    made = plan_jobs(now=NOW, by="test").plan
    assert made.overtime
    accept_plan(made, by="test", now=NOW)
    back = undo(by="test", now=NOW).accepted.plan
    assert (back.overtime, finish(back)) == ([], finish(first))


def test_on_promise_may_ask_and_no_overtime_may_not(job):
    """After a storm both ways are offered, and the one that asks is accepted as shown."""
    willing("ground-crew", "stone-crew", "green-crew")
    Job.objects.update(promised_on=date(2026, 7, 31))
    published_plan()
    Job.objects.update(promised_on=date(2026, 7, 6))
    offered = answer_better(
        read_storm(NOW), NOW, ways=(Way.ON_PROMISE, Way.NO_OVERTIME, Way.STEADY), seconds=0.3
    )
    found = {one.found.way: one for one in offered}
    promise = found[Way.ON_PROMISE]
    assert isinstance(promise.found, WayOut)
    assert len(promise.found.lines.saturdays) == 1
    assert read_prices().more(read_storm(NOW), promise.found) == 300
    assert say_money(300) == "about $300 more"
    calm = found[Way.STEADY].found
    assert isinstance(calm, WayOut)
    assert calm.lines.saturdays == ()
    client = signed_in()
    client.post(reverse("accept-way", args=[promise.row.pk]))
    plan = Plan.objects.get(state="published")
    assert len(plan.overtime) == 1
    assert finish(plan) <= date(2026, 7, 6)


def test_told_on_the_page_of_the_crew(job):
    """Kept with the crew, and shown with its week."""
    client, crew = signed_in(), Crew.objects.get(slug="stone-crew")
    facts = {"name": crew.name, "people": "Ada\nBo", "skill_paving": "2", "revision": crew.revision}
    days = ("monday", "tuesday", "wednesday", "thursday", "friday")
    facts |= {f"day_{day}": "all day" for day in days} | {
        "day_saturday": "off",
        "day_sunday": "off",
    }
    address = reverse("edit-crew", args=[crew.slug])
    for wrong in ("-1", "lots", "9" * 12, "1.999"):
        answer = client.post(address, facts | {"saturdays": "on", "saturday_price": wrong})
        assert answer.status_code == 422
    client.post(address, facts | {"saturdays": "on", "saturday_price": "250"})
    crew.refresh_from_db()
    assert (crew.saturdays, crew.saturday_price) == (True, 250)
    assert "Saturdays if need be" in client.get(reverse("crews")).content.decode()
