"""The feed over HTTP: what a phone gets, and what it costs.

Status codes and headers after RFC 9110 (8.8 validators, 13 conditional requests, 9.3.2 HEAD).
"""

from __future__ import annotations

import gzip
from datetime import timedelta

import pytest

from crews.models import CalendarEvent, Crew
from crews.services.events import change
from crews.services.feeds import BODIES
from crews.services.nothing import fill_feeds
from crews.services.today import plan_now
from crews.views.feed import takes_gzip
from tests.calendars import read_strictly
from tests.factories import (
    CalendarEventFactory,
    CrewFactory,
    PersonFactory,
)
from tests.feeds import CHANGED, link_to, name, titles

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("own_shelf")]


class TestAnswer:
    """A whole answer."""

    def test_a_calendar(self, client, address):
        """The crew's events under the crew's name."""
        answer = client.get(address)
        assert (answer.status_code, answer["Content-Type"]) == (
            200,
            "text/calendar; charset=utf-8",
        )
        assert (name(answer), titles(answer)) == (
            "Ground crew - Yardwright",
            ["Maple Lane: Grade the yard"],
        )

    def test_headers(self, client, address):
        """Private for five minutes; out of search engines and other sites; a weak tag."""
        answer = client.get(address)
        told = {
            "Cache-Control": "private, max-age=300",
            "Last-Modified": "Fri, 05 Jun 2026 22:30:00 GMT",
            "Referrer-Policy": "no-referrer",
            "X-Robots-Tag": "noindex",
            "X-Content-Type-Options": "nosniff",
            "Vary": "Accept-Encoding",
            "Content-Length": str(len(answer.content)),
        }
        assert {header: answer[header] for header in told} == told
        assert answer["ETag"].startswith('W/"')

    def test_no_cookie_and_no_session(self, client, address):
        """Not even for somebody signed in."""
        client.force_login(PersonFactory())
        client.cookies["csrftoken"] = "x" * 32
        assert client.get(address).cookies == {}

    def test_two_answers_are_alike(self, client, address):
        """Octet by octet, with the same tag."""
        first, second = client.get(address), client.get(address)
        assert (first.content, first["ETag"]) == (second.content, second["ETag"])

    def test_only_get_and_head(self, client, address):
        """A feed is read."""
        assert client.post(address).status_code == 405

    @pytest.mark.parametrize("count", [1, 500])
    def test_two_queries_however_many_events(self, client, django_assert_num_queries, count):
        """The link with its name and what its rows tell; writing a body reads the rows as well.

        Noting the reading is one more, once an hour.
        """
        CrewFactory(slug="ground-crew")
        CalendarEventFactory.create_batch(count)
        _, where = link_to("crew:ground-crew")
        with django_assert_num_queries(4):
            tag = client.get(where)["ETag"]
        with django_assert_num_queries(2):
            whole = client.get(where)
        assert len(whole.content) > 200 * count
        with django_assert_num_queries(2):
            assert client.get(where, headers={"If-None-Match": tag}).status_code == 304

    def test_another_link_of_the_same_feed_costs_no_new_body(
        self, client, address, django_assert_num_queries
    ):
        """Bodies are kept by what is in them."""
        first = client.get(address)
        _, other = link_to("crew:ground-crew")
        client.get(other)
        with django_assert_num_queries(2):
            assert client.get(other).content == first.content

    def test_another_process_takes_the_body_from_the_shelf(
        self, client, address, django_assert_num_queries
    ):
        """What is kept in files spares reading the rows."""
        first = client.get(address)
        BODIES.things.clear()
        with django_assert_num_queries(2):
            assert client.get(address).content == first.content

    def test_the_reading_is_noted(self, client):
        """The list of links says when each was read last."""
        link, where = link_to("all")
        client.get(where)
        link.refresh_from_db()
        assert link.last_read is not None


class TestConditional:
    """Only news costs anything."""

    def test_the_same_tag_is_no_news(self, client, address):
        """RFC 9110 13.1.2: 304 without a body, with the same tag."""
        tag = client.get(address)["ETag"]
        answer = client.get(address, headers={"If-None-Match": tag})
        assert (answer.status_code, answer.content, answer["ETag"]) == (304, b"", tag)
        assert answer["X-Robots-Tag"] == "noindex"

    def test_unchanged_since_is_no_news(self, client, address):
        """RFC 9110 13.1.3."""
        since = {"If-Modified-Since": "Fri, 05 Jun 2026 22:30:00 GMT"}
        assert client.get(address, headers=since).status_code == 304

    def test_changed_since_is_news(self, client, address):
        """A second earlier."""
        since = {"If-Modified-Since": "Fri, 05 Jun 2026 22:29:59 GMT"}
        assert client.get(address, headers=since).status_code == 200

    def test_the_tag_wins_over_the_date(self, client, address):
        """RFC 9110 13.2.2: If-Modified-Since is not looked at if there is If-None-Match."""
        both = {"If-None-Match": '"other"', "If-Modified-Since": "Fri, 05 Jun 2026 22:30:00 GMT"}
        assert client.get(address, headers=both).status_code == 200

    @pytest.mark.parametrize(
        "visible",
        [
            {"title": "Maple Lane: Roll the yard"},
            {"place": "Gate 2"},
            {"notes": "Bring water"},
            {"end": CHANGED + timedelta(days=5)},
        ],
        ids=["title", "place", "notes", "end"],
    )
    def test_any_change_is_another_tag(self, client, address, visible):
        """And another body; every change goes through one door, which raises the sequence."""
        before = client.get(address)
        row = CalendarEvent.objects.get()
        change(row, CHANGED, **visible)
        row.save()
        after = client.get(address, headers={"If-None-Match": before["ETag"]})
        assert after.status_code == 200
        assert after.content != before.content

    def test_a_row_that_comes_or_goes_is_another_tag(self, client, address):
        """One more, another instead, none."""
        tags = [client.get(address)["ETag"]]
        CalendarEventFactory(modified=CHANGED)
        tags.append(client.get(address)["ETag"])
        CalendarEvent.objects.order_by("pk")[0].delete()
        tags.append(client.get(address)["ETag"])
        CalendarEvent.objects.all().delete()
        tags.append(client.get(address)["ETag"])
        assert len(set(tags)) == 4

    def test_another_name_is_another_tag(self, client, address):
        """The calendar is called as the crew is."""
        before = client.get(address)
        Crew.objects.update(name="Earth crew")
        after = client.get(address, headers={"If-None-Match": before["ETag"]})
        assert (after.status_code, name(after)) == (200, "Earth crew - Yardwright")

    def test_a_standing_event_that_was_shown_is_stored_and_moves_with_a_sequence(self, client):
        """A feed without any row: what the first reading shows is no ghost later."""
        CrewFactory(slug="ground-crew")
        _, where = link_to("crew:ground-crew")
        shown = [client.get(where) for _ in "ab"]
        assert shown[0].content == shown[1].content
        fill_feeds(plan_now() + timedelta(days=7))
        after = client.get(where, headers={"If-None-Match": shown[0]["ETag"]})
        events = [read_strictly(answer.content).inside("VEVENT")[0] for answer in (shown[0], after)]
        assert [event.one("SEQUENCE").value for event in events] == ["0", "1"]
        assert events[0].one("UID").value == events[1].one("UID").value


class TestForms:
    """The same body in other forms."""

    def test_head_is_get_without_a_body(self, client, address):
        """RFC 9110 9.3.2: the same headers."""
        get, head = client.get(address), client.head(address)
        assert (head.status_code, head.content) == (200, b"")
        assert dict(head.items()) == dict(get.items())

    def test_gzip_for_those_who_ask(self, client, address):
        """The same body inside, and always the same octets."""
        plain = client.get(address)
        first, second = (client.get(address, headers={"Accept-Encoding": "gzip"}) for _ in "ab")
        assert first["Content-Encoding"] == "gzip"
        assert gzip.decompress(first.content) == plain.content
        assert (first.content, first["ETag"]) == (second.content, plain["ETag"])

    @pytest.mark.parametrize(
        ("accepted", "taken"),
        [
            ("gzip", True),
            ("GZIP", True),
            ("deflate, gzip;q=1.0, *;q=0.5", True),
            ("*", True),
            ("", False),
            ("identity", False),
            ("gzip;q=0", False),
            ("gzip;q=0.0, deflate", False),
            ("notgzip", False),
        ],
    )
    def test_what_takes_gzip(self, accepted, taken):
        """RFC 9110 12.5.3: a weight of 0 means not acceptable."""
        assert takes_gzip(accepted) is taken
