"""A work that was over before its planned day is told for no day after it, anywhere; taken back, it stands again.

The small yard is published on Tuesday evening; its first work, planned for next week, is done today.
"""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from crews.models import CalendarEvent, Person, Role
from crews.services.links import make_link
from crews.services.today import wall_now
from jobs.models import DayLog, Job, Plan, PlanRow
from jobs.services.day.log_day import Said, log_day
from jobs.services.day.take_back_line import take_back_line
from jobs.services.mail.evening import evening_drafts
from jobs.services.pages.crew_page import read_crew_page
from jobs.services.pages.day import read_day
from jobs.services.pages.homeowner import read_homeowner
from jobs.services.pages.jobs import read_jobs
from jobs.services.pages.look_ahead import read_look_ahead
from jobs.services.pages.tomorrow import read_tomorrow
from tests.office import NOW, published_yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def row() -> PlanRow:
    """The first work of a crew in the published yard."""
    published_yard()
    rows = Plan.objects.get(state="published").rows.filter(crew__isnull=False)
    return rows.select_related("activity__job", "crew").order_by("start")[0]


def done(row: PlanRow, now=NOW) -> DayLog:
    """Say that a work is done, today."""
    said = Said(uuid4(), row.activity, now.date(), DayLog.Kind.DONE, now)
    return log_day(said, by="test", now=now)


def eve(row: PlanRow):
    """The evening before the row's first day."""
    return row.start.astimezone(NOW.tzinfo).replace(hour=18, minute=0) - timedelta(days=1)


def places(row: PlanRow) -> dict[str, bool]:
    """Where a work is told for its planned day, on the evening before."""
    now, name, uid = eve(row), row.activity.name, row.activity.uid
    first = read_tomorrow(now)
    weeks, on = read_look_ahead(now), now + timedelta(days=1)
    page = read_crew_page(row.crew, "Ines", now)
    draft = next(it for it in evening_drafts(now) if it.whom == row.crew.name)
    upcoming = read_jobs(now).rows[0].upcoming
    live = CalendarEvent.objects.filter(activity=uid, kind="work").exclude(status="CANCELLED")
    yard = read_day(row.activity.job, Person(role=Role.OWNER), on, on.date())
    return {
        "yard's day": any(it.uid == uid for it in yard.works),
        "tomorrow": any(it.uid == uid for crew in first.crews for it in crew.stands),
        "weeks": any(it.uid == uid for who in weeks.crews for cell in who.cells for yard in cell.yards for it in yard.stands),
        "phone": any(it.uid == uid for day in page.days for visit in day.visits for it in visit.works),
        "mail": name in draft.text,
        "next": upcoming.startswith(name),
        "calendar": live.filter(end__gt=now).exists(),
    }  # fmt: skip


def test_it_is_told_nowhere_for_its_planned_day(row):
    """Pages, phone, mail and calendar, without another plan."""
    assert set(places(row).values()) == {True}
    done(row)
    assert set(places(row).values()) == {False}


def test_taken_back_it_stands_again_everywhere(row):
    """The calendar too, at once."""
    take_back_line(done(row), by="test", now=NOW)
    assert set(places(row).values()) == {True}


def test_days_up_to_the_one_it_was_over_on_stay(row):
    """Planned for two days and over on the first, it is still told for the first."""
    first = row.segments[0]
    row.segments = [
        first,
        [first[0].replace("-25T", "-26T"), first[1].replace("-25T", "-26T"), True],
    ]
    row.save()
    now = eve(row) + timedelta(days=1)
    done(row, now)
    page = read_crew_page(row.crew, "Ines", now)
    shown = [[it.uid for visit in day.visits for it in visit.works] for day in page.days]
    assert (row.activity.uid in shown[0], row.activity.uid in shown[1]) == (True, False)


class TestMilestones:
    """What the owner is told of them."""

    @pytest.fixture
    def stone(self, row) -> PlanRow:
        """The first milestone of the yard that a crew reaches."""
        rows = row.plan.rows.exclude(activity__detail__milestone="").filter(
            activity__detail__milestone__isnull=False, crew__isnull=False
        )
        make_link(f"homeowner:{row.activity.job.uid}", now=wall_now())
        return rows.select_related("activity__job", "crew").order_by("finish")[0]

    def event(self, stone):
        """Its entry in the owner's calendar."""
        return CalendarEvent.objects.get(activity=stone.activity.uid, kind="milestone")

    def test_its_entry_moves_to_the_day_it_was_reached(self, stone):
        """It is not cancelled: it happened, yesterday."""
        said = Said(uuid4(), stone.activity, NOW.date() - timedelta(days=1), "done", NOW)
        log_day(said, by="test", now=NOW)
        entry = self.event(stone)
        day = entry.start.astimezone(NOW.tzinfo).date()
        assert (entry.status, day) == ("CONFIRMED", NOW.date() - timedelta(days=1))

    def test_half_done_and_late_it_is_not_told_as_done(self, stone):
        """The owner reads days from today on; what nobody spoke of is taken as it was planned."""
        now = stone.finish.astimezone(NOW.tzinfo) + timedelta(days=1)
        job = Job.objects.get()
        words = stone.activity.detail["milestone"]

        def told():
            return next(it for it in read_homeowner(job, now).stones if it.words == words)

        assert told().state == "laid"
        share = Said(uuid4(), stone.activity, now.date(), "part-way", now, share=50)
        log_day(share, by="test", now=now)
        assert told().state == "next"
        assert f"{now.day} " in told().when
