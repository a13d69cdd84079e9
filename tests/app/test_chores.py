"""Between plans the worker says the odds and keeps standing events right; one failure stops no other."""

from __future__ import annotations

import pytest

from crews.models import CalendarEvent
from crews.services.links import make_link
from jobs.models import ForecastReading, Outlook
from jobs.services.upkeep.chores import do_chores
from tests.office import NOW, open_office, published_plan, small_job

pytestmark = pytest.mark.django_db


def test_the_odds_of_a_published_plan_are_said_once():
    """A plan published by hand has none; the worker says them, and then leaves them."""
    open_office()
    job = small_job()
    published_plan()
    do_chores(NOW)
    do_chores(NOW)
    assert Outlook.objects.filter(job=job).count() == 1


def test_a_feed_with_nothing_ahead_says_so_without_anybody_publishing():
    """The standing event is there although nobody planned."""
    open_office()
    make_link("crew:green-crew", now=NOW)
    do_chores(NOW)
    assert CalendarEvent.objects.filter(subject="crew:green-crew", kind="nothing").count() == 1


def test_nobody_is_asked_for_the_weather_on_a_pretended_day():
    """The demo's sky is invented."""
    open_office()
    small_job()
    do_chores(NOW)
    assert ForecastReading.objects.count() == 0
