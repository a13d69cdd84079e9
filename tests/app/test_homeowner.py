"""The homeowner's page: who is in the yard today and tomorrow, what that asks for, and what passed without being done."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Activity, Company, Plan
from jobs.services.causes.lose_days import Lost, lose_days
from jobs.services.company.share import homeowner_link
from jobs.services.pages.homeowner import read_homeowner
from jobs.services.telling.speech import say_span
from tests.office import NOW, published_yard
from tests.storms import BY, EASTERN, first_day

pytestmark = pytest.mark.django_db
GATE = "Please keep the gate free, and children and pets inside while we work."


@pytest.fixture
def job():
    """A small yard, planned and published."""
    return published_yard()


def days_from(job, evening):
    """What is told of today and tomorrow on an evening, by the words before the comma."""
    return {day.head.partition(",")[0]: day for day in read_homeowner(job, evening).days}


def evening_before(day):
    return NOW.replace(year=day.year, month=day.month, day=day.day) - timedelta(days=1)


class TestTomorrow:
    """May the dog go out?"""

    def test_who_comes_and_what_it_asks_for(self, job):
        """Hours and work of the first day on which a crew is planned, though its milestone is far."""
        day = days_from(job, evening_before(first_day()))["Tomorrow"]
        assert day.told == "We plan to be in your yard:"
        assert day.works[0] == "7:00 am to about 9:00 am: Mark out the work"
        assert GATE in day.minds

    def test_a_day_without_anybody_names_the_next(self, job):
        """Nobody keeps the dog in for nothing."""
        days = days_from(job, evening_before(first_day()))
        assert days["Today"].told.startswith(
            "Nobody is planned in your yard. The next day with a crew is "
        )
        assert days["Today"].minds == ()

    def test_spraying_asks_for_more(self, job):
        """Off the lawn until it has dried, or as long as the notice says."""
        Activity.objects.filter(template="lay-out").update(template="spray-turf-1")
        day = days_from(job, evening_before(first_day()))["Tomorrow"]
        assert any(
            mind.startswith("The old lawn is sprayed by a licensed applicator")
            for mind in day.minds
        )

    def test_a_day_lost_before_it_is_planned_anew(self, job):
        """Nobody comes, and why; that other dates may move, too."""
        first = first_day()
        for last in (first, first + timedelta(days=1)):
            lose_days(Lost(first=first, last=last), by=BY, now=evening_before(first))
        page = read_homeowner(job, evening_before(first) + timedelta(days=1))
        assert page.days[0].told == "Nobody works in your yard: rain."
        span = say_span(first, first + timedelta(days=1))
        assert page.lost[0] == f"{span}: lost to rain."
        assert page.lost[1].startswith("We are planning anew after that.")


class TestNotDone:
    """What passed without being done is not told as done."""

    @pytest.fixture
    def after(self, job):
        """The first milestone, and the evening of the day it was planned for."""
        page = read_homeowner(job, NOW)
        rows = Plan.objects.get().rows.select_related("activity").order_by("finish")
        row = [r for r in rows if r.activity.detail.get("milestone") == page.upcoming][-1]
        return row, row.finish + timedelta(hours=3)

    def stone(self, job, row, now):
        """The milestone's stone on the path."""
        stones = read_homeowner(job, now).stones
        return next(s for s in stones if s.words == row.activity.detail["milestone"])

    def test_nobody_said_so(self, job, after):
        """Then its day is told as planned."""
        row, now = after
        assert self.stone(job, row, now).when.startswith("planned for ")

    def test_it_was_begun_and_not_ended(self, job, after):
        """It still comes next."""
        row, now = after
        Activity.objects.filter(pk=row.activity_id).update(started_at=row.start, done_share=40)
        assert self.stone(job, row, now).state == "next"

    def test_its_day_was_lost(self, job, after):
        """As after a storm, before anybody has planned again."""
        row, now = after
        day = row.finish.astimezone(EASTERN).date()
        lose_days(Lost(first=day, last=day), by=BY, now=row.finish)
        assert self.stone(job, row, now)[1:3] == (
            "its day has passed; a new one is being planned",
            "next",
        )


def test_the_page_says_what_is_needed_first_and_can_be_called_from(job):
    """Tomorrow, then the finish, then what comes next; the telephone is a link."""
    Company.objects.update(phone="555-0142")
    token = homeowner_link(job, by=BY, now=NOW)
    html = Client().get(reverse("homeowner", args=[token])).content.decode()
    order = [
        html.index(words)
        for words in ("Tomorrow, ", "lanned to be finished", "Next: ", 'href="tel:555-0142"')
    ]
    assert order == sorted(order)
