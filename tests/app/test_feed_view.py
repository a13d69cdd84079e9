"""The feed over HTTP: what a phone gets, and what it costs.

Status codes and headers after RFC 9110 (8.8 validators, 13 conditional requests, 9.3.2 HEAD).
"""

from __future__ import annotations

import gzip
import logging
from datetime import UTC, datetime, timedelta

import pytest
from django.core.cache import caches

from crews.models import CalendarEvent, Crew
from crews.services.events import change
from crews.services.feeds import BODIES, open_feed
from crews.services.links import make_link, revoke
from crews.services.nothing import fill_feeds
from crews.services.redact import NoSecrets
from crews.services.revision import rows_told
from crews.services.subjects import UnknownSubjectError, events_of, subject_of
from crews.services.today import plan_now, wall_now
from crews.views.feed import takes_gzip
from tests.calendars import read_strictly
from tests.factories import (
    CalendarEventFactory,
    CrewFactory,
    CrewMemberFactory,
    MachineFactory,
    PersonFactory,
)

pytestmark = pytest.mark.django_db
CREATED = datetime(2026, 6, 1, 12, tzinfo=UTC)
CHANGED = datetime(2026, 6, 5, 22, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _empty_caches(settings, tmp_path):
    """A shelf of last good bodies of its own."""
    settings.CACHES = {
        **settings.CACHES,
        "feeds": {
            "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
            "LOCATION": tmp_path,
        },
    }
    caches["feeds"].clear()
    BODIES.things.clear()


def link_to(subject, **other):
    """A link and the address of its feed."""
    link, token = make_link(subject, now=wall_now(), **other)
    return link, f"/feed/{token}.ics"


@pytest.fixture
def address():
    """The address of the ground crew's feed, with one event in it."""
    CrewFactory(name="Ground crew", slug="ground-crew")
    CalendarEventFactory(modified=CHANGED)
    return link_to("crew:ground-crew")[1]


def titles(answer):
    """Titles of the events of an answer."""
    calendar = read_strictly(answer.content)
    return [part.one("SUMMARY").text for part in calendar.inside("VEVENT")]


def name(answer):
    """Name of the calendar of an answer."""
    return read_strictly(answer.content).one("NAME").text


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


class TestWhose:
    """Which events are in whose feed."""

    @pytest.fixture(autouse=True)
    def _yard(self):
        """Two crews and a machine at work."""
        self.ground = CrewFactory(name="Ground crew", slug="ground")
        self.stone = CrewFactory(name="Stone crew", slug="stone")
        MachineFactory(name="Tracked loader", slug="loader")
        for subject in ("crew:ground", "crew:stone", "machine:loader", "homeowner:4fa1"):
            CalendarEventFactory(subject=subject, title=subject)
        for subject in ("crew:ground", "crew:stone"):
            CalendarEventFactory(subject=subject, activity="", kind="nothing", title="Nothing")

    def feed(self, client, subject, **other):
        """Name and sorted titles of a feed."""
        answer = client.get(link_to(subject, **other)[1])
        return name(answer), sorted(titles(answer))

    def test_a_crew_sees_its_own(self, client):
        """With its standing event."""
        assert self.feed(client, "crew:ground") == (
            "Ground crew - Yardwright",
            ["Nothing", "crew:ground"],
        )

    def test_a_machine_has_its_own(self, client):
        """Where the loader stands."""
        assert self.feed(client, "machine:loader") == (
            "Tracked loader - Yardwright",
            ["machine:loader"],
        )

    def test_a_person_sees_what_the_persons_crews_do(self, client):
        """Both crews, without their standing events."""
        person = PersonFactory(name="Ana")
        CrewMemberFactory(crew=self.ground, person=person)
        CrewMemberFactory(crew=self.stone, person=person)
        assert self.feed(client, f"person:{person.pk}") == (
            "Ana - Yardwright",
            ["crew:ground", "crew:stone"],
        )

    def test_who_leads_a_crew_sees_what_it_does_once(self, client):
        """Leads Ground, and is one of Ground's people too."""
        person = PersonFactory(name="Ana")
        Crew.objects.filter(slug="ground").update(lead=person)
        CrewMemberFactory(crew=self.ground, person=person)
        assert self.feed(client, f"person:{person.pk}") == ("Ana - Yardwright", ["crew:ground"])

    def test_a_person_without_a_crew_has_nothing_planned(self, client):
        """Never an empty calendar."""
        person = PersonFactory(name="Ben")
        assert self.feed(client, f"person:{person.pk}") == (
            "Ben - Yardwright",
            ["Nothing planned this week"],
        )

    def test_everything_is_what_every_crew_does(self, client):
        """Machines go where crews go and are not told twice."""
        assert self.feed(client, "all") == (
            "Everything - Yardwright",
            ["crew:ground", "crew:stone"],
        )

    def test_a_homeowner_sees_milestones_under_the_name_of_the_yard(self, client):
        """The label of the link."""
        assert self.feed(client, "homeowner:4fa1", label="Maple Lane") == (
            "Maple Lane - Yardwright",
            ["homeowner:4fa1"],
        )

    @pytest.mark.parametrize(
        "kind", ["crew:ground", "machine:loader", "all", "person", "homeowner:4fa1"]
    )
    def test_what_rows_tell_is_of_the_rows_of_the_feed(self, kind):
        """The cheap question and the whole answer are about the same events."""
        person = PersonFactory(name="Ana")
        CrewMemberFactory(crew=self.stone, person=person)
        whose = subject_of(f"person:{person.pk}" if kind == "person" else kind)
        events = list(events_of(whose))
        assert (*rows_told(whose)[:2], rows_told(whose)[-1]) == (
            len(events),
            max(event.pk for event in events),
            max(events, key=lambda event: (event.start, event.uid)).uid,
        )

    @pytest.mark.parametrize("subject", ["team:ground", "crew", "all:of-it"])
    def test_other_subjects_there_are_none(self, subject):
        """A word for the kind and what names one of it."""
        with pytest.raises(UnknownSubjectError):
            subject_of(subject)


class TestTrouble:
    """Wrong addresses, links that were turned off, and a day on which things break."""

    def test_an_unknown_link_is_not_there(self, client):
        """404, kept out of caches and search engines."""
        answer = client.get("/feed/no-such-link-at-all.ics")
        assert (answer.status_code, answer["X-Robots-Tag"]) == (404, "noindex")
        assert (answer["Referrer-Policy"], answer["Cache-Control"]) == (
            "no-referrer",
            "private, no-store",
        )

    def test_guessing_is_slowed_down_but_a_link_always_opens(self, client, address):
        """429 from the twenty-first miss on; the phone behind the same address is served."""
        codes = [client.get(f"/feed/guess-{n}.ics").status_code for n in range(21)]
        assert codes == [404] * 20 + [429]
        assert client.get(address).status_code == 200

    def test_a_link_turned_off_says_so(self, client):
        """One event with the words, and none of the crew's."""
        CalendarEventFactory()
        link, where = link_to("crew:ground-crew")
        client.get(where)
        revoke(link, wall_now())
        answer = client.get(where)
        assert (answer.status_code, titles(answer)) == (200, ["This calendar link was turned off"])
        assert client.get(where, headers={"If-None-Match": answer["ETag"]}).status_code == 304

    @pytest.mark.parametrize(("days", "status"), [(13, 200), (14, 410)])
    def test_after_two_weeks_the_address_is_gone(self, client, days, status):
        """RFC 9110 15.5.11."""
        link, where = link_to("all")
        revoke(link, wall_now() - timedelta(days=days))
        assert client.get(where).status_code == status

    def test_the_last_good_body_is_given_when_something_breaks(self, client, address):
        """A row with a zone nobody knows cannot be written: the phone sees no difference."""
        before = client.get(address)
        CalendarEventFactory(zone="America/Nowhere")
        after = client.get(address)
        assert (after.status_code, after.content, after["ETag"]) == (
            200,
            before.content,
            before["ETag"],
        )

    def test_without_a_last_good_body_the_phone_is_asked_to_come_again(self, client):
        """503 with Retry-After: it keeps what it has."""
        CalendarEventFactory(subject="crew:ground-crew", zone="America/Nowhere")
        answer = client.get(link_to("crew:ground-crew")[1])
        assert (answer.status_code, answer["Retry-After"]) == (503, "600")

    def test_a_link_turned_off_has_no_last_good_body(self, client):
        """What was kept of it is thrown away with the link."""
        link, where = link_to("crew:ground-crew")
        client.get(where)
        assert caches["feeds"].get(f"feed-{link.hash}") is not None
        revoke(link, wall_now())
        assert caches["feeds"].get(f"feed-{link.hash}") is None

    def test_no_token_reaches_the_log(self, client):
        """Django logs what is not found by its address: the filter blanks the secret."""
        handler = Keep()
        handler.addFilter(NoSecrets())
        logger = logging.getLogger("django.request")
        logger.addHandler(handler)
        client.get("/feed/a-token-that-was-mistyped.ics")
        logger.removeHandler(handler)
        assert handler.lines == ["Not Found: /feed/(secret).ics"]

    def test_trouble_is_logged_without_the_token(self, caplog):
        """What broke, not whose link it was."""
        CalendarEventFactory(subject="crew:ground-crew", zone="America/Nowhere")
        _, where = link_to("crew:ground-crew")
        token = where.removeprefix("/feed/").removesuffix(".ics")
        with caplog.at_level(logging.ERROR, "crews"), pytest.raises(Exception, match="Nowhere"):
            open_feed(token, wall_now())
        assert "the last good one is given if there is one" in caplog.text
        assert token not in caplog.text


class Keep(logging.Handler):
    """Keeps what would be written."""

    def __init__(self):
        super().__init__()
        self.lines = []

    def emit(self, record):
        """Keep one line."""
        self.lines.append(record.getMessage())
