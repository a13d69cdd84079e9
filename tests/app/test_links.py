"""Secret links, the page that lists them, and the one time that an address is shown."""

from __future__ import annotations

import hashlib
import re
from datetime import UTC, datetime, timedelta

import pytest
import segno
from django.db import connection
from django.test.utils import CaptureQueriesContext

from crews.models import CalendarEvent, FeedLink
from crews.services.calendar_page import calendar_links
from crews.services.links import find_link, make_link, note_reading, revoke
from crews.services.qr import square_code
from tests.factories import (
    CrewFactory,
    CrewMemberFactory,
    FeedLinkFactory,
    MachineFactory,
    PersonFactory,
)

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 6, 8, 12, tzinfo=UTC)
PAGE = "/calendars/"


class TestTokens:
    """What a token opens, and what is kept of it."""

    def test_only_the_hash_is_kept(self):
        """SHA-256 of the token; the token itself is in no column."""
        link, token = make_link("crew:ground", label="Ground", person="Ana", now=NOON)
        (row,) = FeedLink.objects.values()
        assert row["hash"] == hashlib.sha256(token.encode()).hexdigest() == link.hash
        assert token not in str(row)
        assert (row["subject"], row["label"], row["person"], row["created"]) == (
            "crew:ground",
            "Ground",
            "Ana",
            NOON,
        )

    def test_a_token_has_32_bytes_that_fit_an_address(self):
        """43 letters of URL-safe base64 (RFC 4648 5); two tokens differ."""
        tokens = [make_link("all", now=NOON)[1] for _ in range(2)]
        assert [bool(re.fullmatch(r"[\w-]{43}", token)) for token in tokens] == [True, True]
        assert tokens[0] != tokens[1]

    def test_a_token_finds_its_link(self):
        """And no other does."""
        link, token = make_link("all", now=NOON)
        assert find_link(token) == link
        assert find_link(token[:-1]) is None
        assert find_link(link.hash) is None

    def test_a_link_that_was_turned_off_keeps_its_first_date(self):
        """It is still found: its holder is told why it is empty."""
        link, token = make_link("all", now=NOON)
        revoke(link, NOON)
        revoke(link, NOON + timedelta(days=1))
        assert find_link(token).revoked == NOON

    @pytest.mark.parametrize(("minutes", "noted"), [(59, NOON), (60, NOON + timedelta(minutes=60))])
    def test_readings_are_noted_hourly(self, minutes, noted):
        """A phone may ask every minute; the table is written once an hour."""
        link = FeedLinkFactory(last_read=NOON)
        note_reading(link, NOON + timedelta(minutes=minutes))
        link.refresh_from_db()
        assert link.last_read == noted

    def test_the_first_reading_is_noted(self):
        """From never to now."""
        link = FeedLinkFactory()
        note_reading(link, NOON)
        link.refresh_from_db()
        assert link.last_read == NOON


class TestSquareCode:
    """The picture that a phone's camera reads."""

    def test_side_and_path_agree(self):
        """Version 1 has 21 modules and 4 quiet ones on each side (ISO/IEC 18004)."""
        code = square_code("HELLO")
        assert code.side == 21 + 2 * 4
        starts = [tuple(map(int, pair)) for pair in re.findall(r"M(\d+) (\d+)", code.path)]
        assert (min(x for x, _ in starts), min(y for _, y in starts)) == (4, 4)

    def test_the_corners_are_where_cameras_look(self):
        """The first row of a finder pattern is seven dark modules (ISO/IEC 18004 6.3.3)."""
        path = square_code("HELLO").path
        assert path.startswith("M4 4h7v1h-7z")
        assert "M18 4h7v1h-7z" in path
        assert "M4 18h7v1h-7z" in path

    def test_every_module_is_where_the_code_has_it(self):
        """Painting the path gives back the matrix of the library, not turned or mirrored."""
        code = square_code("webcal://yard.example/feed/x.ics")
        dark = {
            (int(y) - 4, int(x) - 4 + step)
            for x, y, length in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", code.path)
            for step in range(int(length))
        }
        matrix = segno.make_qr("webcal://yard.example/feed/x.ics", error="m").matrix
        assert dark == {(y, x) for y, row in enumerate(matrix) for x, on in enumerate(row) if on}


class TestList:
    """The page with all links."""

    def test_strangers_are_sent_to_sign_in(self, client):
        """Nobody learns who holds which calendar."""
        answer = client.get(PAGE)
        assert (answer.status_code, answer["Location"]) == (302, "/sign-in/?next=/calendars/")

    def test_a_viewer_sees_links_but_no_buttons(self, client):
        """Anybody signed in may look."""
        CrewFactory(name="Ground crew", slug="ground")
        FeedLinkFactory(subject="crew:ground", person="Ana")
        client.force_login(PersonFactory(role="viewer"))
        page = client.get(PAGE).content.decode()
        assert [page.count(text) for text in ("Ground crew", "Turn off", "Make the link")] == [
            1,
            0,
            0,
        ]

    @pytest.mark.parametrize("count", [1, 3])
    def test_links_with_their_names_are_one_query(self, django_assert_num_queries, count):
        """Crews, machines and people are named by the same query."""
        for crew in CrewFactory.create_batch(count):
            FeedLinkFactory(subject=f"crew:{crew.slug}")
            FeedLinkFactory(subject=f"person:{PersonFactory().pk}")
        with django_assert_num_queries(1):
            rows = calendar_links()
        assert len(rows) == 2 * count

    def test_queries_of_the_page_do_not_grow(self, client):
        """As many for three crews as for one."""
        client.force_login(PersonFactory(role="owner"))
        counts = []
        for more in (1, 2):
            for crew in CrewFactory.create_batch(more):
                FeedLinkFactory(subject=f"crew:{crew.slug}")
            with CaptureQueriesContext(connection) as queries:
                client.get(PAGE)
            counts.append(len(queries))
        assert counts[0] == counts[1]

    def test_live_links_come_first(self, client):
        """One that was turned off says since when, and has no button."""
        FeedLinkFactory(subject="all", person="Ben", revoked=NOON)
        FeedLinkFactory(subject="machine:none", label="Old loader", person="Ana")
        client.force_login(PersonFactory(role="owner"))
        rows = client.get(PAGE).context["links"]
        assert [(row.name, row.kind, row.person, row.turned_off) for row in rows] == [
            ("Old loader", "Machine", "Ana", None),
            ("Everything", "Everything", "Ben", NOON),
        ]

    def test_links_of_pages_are_not_calendars(self, client):
        """Only what a phone's calendar can read is listed."""
        FeedLinkFactory(subject="page:ground")
        client.force_login(PersonFactory())
        assert client.get(PAGE).context["links"] == []


class TestMaking:
    """A new link."""

    def make(self, client, **other):
        """Ask for a link of the ground crew for Ana."""
        return client.post("/calendars/new/", {"subject": "crew:ground", "person": "Ana", **other})

    def test_the_address_is_shown_once_and_opens_the_feed(self, client):
        """As an address to copy, beside the code of its set-up page; the page is kept nowhere."""
        CrewFactory(name="Ground crew", slug="ground")
        client.force_login(PersonFactory(role="scheduler"))
        answer = self.make(client)
        assert answer.status_code == 200
        assert "no-store" in answer["Cache-Control"]
        shown = answer.context["link"]
        assert shown.address.startswith("http://testserver/feed/")
        page = answer.content.decode()
        assert [page.count(text) for text in (shown.address, shown.code.path)] == [1] * 2
        assert shown.code == square_code(shown.setup)
        assert client.get(shown.address).status_code == 200
        assert client.get(PAGE).content.decode().count(shown.address) == 0

    def test_the_address_is_the_one_known_outside(self, client, settings):
        """Behind a proxy the company says how it is reached."""
        settings.BASE_URL = "https://plan.example"
        CrewFactory(slug="ground")
        client.force_login(PersonFactory(role="owner"))
        assert self.make(client).context["link"].address.startswith("https://plan.example/feed/")

    def test_the_page_does_not_promise_too_much(self, client):
        """Phones look when they like: within a day, not at once."""
        CrewFactory(slug="ground")
        client.force_login(PersonFactory(role="owner"))
        assert "Within a day, not at once" in self.make(client).content.decode()

    def test_a_new_calendar_is_not_empty(self, client):
        """Its standing event is stored with the link."""
        CrewFactory(slug="ground")
        client.force_login(PersonFactory(role="owner"))
        self.make(client)
        assert list(CalendarEvent.objects.values_list("subject", "kind")) == [
            ("crew:ground", "nothing")
        ]

    @pytest.mark.parametrize("wrong", [{"subject": "crew:none"}, {"person": " "}])
    def test_a_wrong_form_makes_nothing(self, client, wrong):
        """422 with the form; no link."""
        CrewFactory(slug="ground")
        client.force_login(PersonFactory(role="owner"))
        answer = self.make(client, **wrong)
        assert (answer.status_code, FeedLink.objects.count()) == (422, 0)
        assert list(answer.context["form"].errors) == list(wrong)

    def test_everybody_with_a_calendar_is_on_offer(self, client):
        """Active crews and machines, and people who are in a crew."""
        CrewFactory(slug="gone", active=False)
        crew, machine = CrewFactory(slug="ground"), MachineFactory(slug="loader")
        person = CrewMemberFactory(crew=crew, person=PersonFactory()).person
        client.force_login(PersonFactory(role="owner"))
        choices = client.get(PAGE).context["form"].fields["subject"].choices
        groups = [list(group[1]) if isinstance(group[1], list) else group[0] for group in choices]
        assert groups == [
            "all",
            [("crew:ground", crew.name)],
            [("machine:loader", machine.name)],
            [(f"person:{person.pk}", person.name)],
        ]

    @pytest.mark.parametrize("role", ["lead", "viewer"])
    def test_others_may_not(self, client, role):
        """403, and no link."""
        CrewFactory(slug="ground")
        client.force_login(PersonFactory(role=role))
        assert (self.make(client).status_code, FeedLink.objects.count()) == (403, 0)

    def test_a_link_is_not_made_by_looking(self, client):
        """Only a post makes one."""
        client.force_login(PersonFactory(role="owner"))
        assert client.get("/calendars/new/").status_code == 405


class TestTurningOff:
    """A link that was lost."""

    def test_it_is_off(self, client):
        """Back on the list, with its date."""
        link = FeedLinkFactory()
        client.force_login(PersonFactory(role="owner"))
        answer = client.post(f"/calendars/{link.pk}/turn-off/")
        link.refresh_from_db()
        assert (answer.status_code, answer["Location"], link.revoked is None) == (302, PAGE, False)

    def test_a_viewer_may_not(self, client):
        """403, and the link stays."""
        link = FeedLinkFactory()
        client.force_login(PersonFactory(role="viewer"))
        answer = client.post(f"/calendars/{link.pk}/turn-off/")
        link.refresh_from_db()
        assert (answer.status_code, link.revoked) == (403, None)

    def test_no_such_link(self, client):
        """404."""
        client.force_login(PersonFactory(role="owner"))
        assert client.post("/calendars/7/turn-off/").status_code == 404
