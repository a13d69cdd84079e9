"""The standing event of each feed. 8 June 2026 is a Monday."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from crews.models import CalendarEvent
from crews.services.nothing import fill_feeds, nothing_event
from tests.calendars import new_york
from tests.factories import (
    CalendarEventFactory,
    CrewFactory,
    CrewMemberFactory,
    FeedLinkFactory,
    PersonFactory,
)

pytestmark = pytest.mark.django_db
WEDNESDAY = new_york(6, 10, 18)
NEXT_WEEK = WEDNESDAY + timedelta(days=7)


def standing(subject="crew:ground-crew"):
    """The standing event of a feed."""
    return CalendarEvent.objects.get(subject=subject, kind="nothing")


def test_a_feed_without_work_says_so():
    """Monday to Friday of this week, all day, in the zone the office looks from."""
    FeedLinkFactory()
    assert fill_feeds(WEDNESDAY) == 1
    row = standing()
    assert (row.title, row.start, row.end, row.all_day, row.zone, row.status, row.sequence) == (
        "Nothing planned this week",
        new_york(6, 8),
        new_york(6, 13),
        True,
        "America/New_York",
        "CONFIRMED",
        0,
    )


def test_once_is_enough():
    """Filling again changes nothing."""
    FeedLinkFactory()
    fill_feeds(WEDNESDAY)
    before = CalendarEvent.objects.values().get()
    assert fill_feeds(WEDNESDAY + timedelta(hours=3)) == 0
    assert CalendarEvent.objects.values().get() == before


def test_a_feed_with_work_needs_none():
    """Work on Monday is work this week, over or not."""
    FeedLinkFactory()
    CalendarEventFactory()
    assert fill_feeds(WEDNESDAY) == 0
    assert CalendarEvent.objects.count() == 1


def test_it_is_cancelled_when_work_comes_and_comes_back_higher():
    """The same UID all along; the sequence only rises."""
    FeedLinkFactory()
    fill_feeds(WEDNESDAY)
    uid = standing().uid
    work = CalendarEventFactory()
    fill_feeds(WEDNESDAY)
    assert (standing().uid, standing().status, standing().sequence, standing().title) == (
        uid,
        "CANCELLED",
        1,
        "CANCELLED - Nothing planned this week",
    )
    work.delete()
    fill_feeds(WEDNESDAY)
    assert (standing().uid, standing().status, standing().sequence, standing().title) == (
        uid,
        "CONFIRMED",
        2,
        "Nothing planned this week",
    )


def test_it_moves_on_with_the_week():
    """Next Wednesday it is next week's."""
    FeedLinkFactory()
    fill_feeds(WEDNESDAY)
    assert fill_feeds(NEXT_WEEK) == 1
    assert (standing().start, standing().sequence) == (new_york(6, 15), 1)


def test_cancelled_work_is_no_work():
    """Only what is live keeps a crew busy."""
    FeedLinkFactory()
    CalendarEventFactory(status="CANCELLED")
    assert fill_feeds(WEDNESDAY) == 1


def test_work_of_another_week_is_not_this_weeks():
    """The Sunday before and the Monday after."""
    FeedLinkFactory()
    CalendarEventFactory(start=new_york(6, 7), end=new_york(6, 8))
    CalendarEventFactory(start=new_york(6, 15), end=new_york(6, 16))
    assert fill_feeds(WEDNESDAY) == 1


def test_a_person_and_everything_are_busy_with_a_crew():
    """Ana's crew works; Ben is in no crew."""
    ana, ben = PersonFactory.create_batch(2)
    CrewMemberFactory(crew=CrewFactory(slug="ground-crew"), person=ana)
    for subject in ("all", f"person:{ana.pk}", f"person:{ben.pk}"):
        FeedLinkFactory(subject=subject)
    CalendarEventFactory()
    assert fill_feeds(WEDNESDAY) == 1
    assert standing(f"person:{ben.pk}").title == "Nothing planned this week"


def test_who_leads_a_crew_is_busy_with_it():
    """Without being one of its people."""
    lead = PersonFactory()
    CrewFactory(slug="ground-crew", lead=lead)
    FeedLinkFactory(subject=f"person:{lead.pk}")
    CalendarEventFactory()
    assert fill_feeds(WEDNESDAY) == 0


def test_a_homeowner_has_no_milestone_rather_than_no_work():
    """Crews may well be in the yard."""
    FeedLinkFactory(subject="homeowner:4fa1")
    fill_feeds(WEDNESDAY)
    assert standing("homeowner:4fa1").title == "No milestone this week"


def test_feeds_that_nobody_holds_and_pages_are_let_be():
    """A link that was turned off; a link of another kind of page."""
    FeedLinkFactory(revoked=WEDNESDAY)
    FeedLinkFactory(subject="page:ground-crew")
    assert fill_feeds(WEDNESDAY) == 0


def test_an_unstored_event_is_the_one_that_will_be_stored():
    """A feed read before it was filled shows the same UID."""
    FeedLinkFactory()
    unstored = nothing_event("crew:ground-crew", WEDNESDAY)
    fill_feeds(WEDNESDAY)
    assert (standing().uid, standing().start) == (unstored.uid, unstored.start)


def test_without_a_named_zone_the_week_is_that_of_utc():
    """The wall clock knows no company."""
    row = nothing_event("all", datetime(2026, 6, 10, tzinfo=UTC))
    assert (row.zone, row.start) == ("UTC", datetime(2026, 6, 8, tzinfo=UTC))


@pytest.mark.parametrize("count", [1, 3])
def test_queries_do_not_grow_with_feeds(django_assert_num_queries, count):
    """A savepoint in and out; what to forget; links, standing events, work, people, languages; one insert."""
    for crew in CrewFactory.create_batch(count):
        FeedLinkFactory(subject=f"crew:{crew.slug}")
    with django_assert_num_queries(9):
        fill_feeds(WEDNESDAY)
