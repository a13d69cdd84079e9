"""The set-up page: one square code, one phone, one look; and what is kept of its secret."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
from django.db import IntegrityError, transaction

from crews.models import FeedLink, PhoneSetup
from crews.services.links import make_link, revoke
from crews.services.phone import (
    SetupSpentError,
    UnknownSetupError,
    find_setup,
    make_setup,
    open_setup,
)
from crews.services.today import wall_now
from tests.calendars import read_strictly
from tests.factories import CalendarEventFactory, CrewFactory, PersonFactory

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 6, 8, 12, tzinfo=UTC)
PAGE = "/calendars/"


@pytest.fixture
def made():
    """A link of the ground crew for Ana, its token, and the token of its set-up page."""
    CrewFactory(name="Ground crew", slug="ground")
    now = wall_now()
    link, token = make_link("crew:ground", person="Ana", now=now)
    return link, token, make_setup(link, token, now)


class TestSecret:
    """What is kept until the page is opened, and after."""

    def test_the_page_gives_the_token_of_the_feed_once(self, made):
        """The second time it is spent, for whoever asks."""
        link, token, page = made
        assert open_setup(page, wall_now()) == (link, token)
        with pytest.raises(SetupSpentError):
            open_setup(page, wall_now())

    def test_no_column_holds_either_token(self, made):
        """Two hashes and a seal that only the page's own token opens."""
        _, token, page = made
        rows = str(list(FeedLink.objects.values()) + list(PhoneSetup.objects.values()))
        assert [secret in rows for secret in (token, page)] == [False, False]

    def test_two_pages_of_one_feed_are_sealed_differently(self, made):
        """Nothing can be learned by comparing."""
        link, token, _ = made
        make_setup(link, token, NOON)
        assert PhoneSetup.objects.values("sealed").distinct().count() == 2

    def test_an_opened_page_keeps_no_secret(self, made):
        """The seal is wiped with the opening, and the database would refuse to keep it."""
        _, _, page = made
        sealed = find_setup(page).sealed
        open_setup(page, wall_now())
        assert find_setup(page).sealed == ""
        with pytest.raises(IntegrityError), transaction.atomic():
            PhoneSetup.objects.update(sealed=sealed)

    @pytest.mark.parametrize(("days", "opens"), [(6, True), (7, False)])
    def test_it_opens_for_a_week(self, days, opens):
        """A code on a note by the door is not good for ever."""
        link, token = make_link("all", now=NOON)
        page = make_setup(link, token, NOON)
        later = NOON + timedelta(days=days)
        if opens:
            assert open_setup(page, later) == (link, token)
        else:
            with pytest.raises(SetupSpentError):
                open_setup(page, later)

    def test_it_does_not_open_what_was_turned_off(self, made):
        """The office changed its mind before the phone came."""
        link, _, page = made
        revoke(link, wall_now())
        with pytest.raises(SetupSpentError):
            open_setup(page, wall_now())

    @pytest.mark.parametrize("wrong", ["", "x", "x" * 43, "é" * 43, "x" * 100_000])
    def test_other_tokens_open_nothing(self, made, wrong):
        """Garbage of any length."""
        with pytest.raises(UnknownSetupError):
            open_setup(wrong, wall_now())


class TestPage:
    """What the phone shows."""

    def test_an_address_as_every_kind_of_calendar_wants_it(self, client, made):
        """To tap, to give to an account, to copy; the feed opens with it."""
        _, token, page = made
        answer = client.get(f"/phone/{page}/")
        shown = answer.context["phone"]
        assert answer.status_code == 200
        assert (shown.name, shown.person, shown.address, shown.tap) == (
            "Ground crew - Yardwright",
            "Ana",
            f"http://testserver/feed/{token}.ics",
            f"webcal://testserver/feed/{token}.ics",
        )
        assert parse_qs(urlsplit(shown.account).query) == {"cid": [shown.tap]}
        hrefs = re.findall(r'href="([^"]+)"', answer.content.decode())
        assert [hrefs.count(shown.tap), hrefs.count(shown.account)] == [2, 1]
        assert client.get(shown.address).status_code == 200

    def test_it_does_not_promise_too_much(self, client, made):
        """Every kind says how often it looks."""
        told = client.get(f"/phone/{made[2]}/").content.decode()
        sentences = ("Within a day, not at once.", "often once a day, and cannot be hurried")
        assert [told.count(sentence) for sentence in sentences] == [1, 1]

    def test_the_second_opening_says_so_and_what_to_do(self, client, made):
        """410, the way to a new one in every language of crews, and no address."""
        where = f"/phone/{made[2]}/"
        client.get(where)
        answer = client.get(where)
        told = answer.content.decode()
        assert answer.status_code == 410
        assert "This page does not open again" in told
        assert "ask the office for a new square code" in told
        assert "pida a la oficina un cuadro nuevo" in told
        assert "/feed/" not in told

    def test_it_is_private(self, client, made):
        """Kept nowhere, by nobody; no cookie; its address goes to no other site."""
        answer = client.get(f"/phone/{made[2]}/")
        assert "no-store" in answer["Cache-Control"]
        assert (answer["Referrer-Policy"], answer["X-Robots-Tag"]) == ("no-referrer", "noindex")
        assert answer.cookies == {}

    @pytest.mark.parametrize(
        "header",
        [
            {"Sec-Purpose": "prefetch;prerender"},
            {"Purpose": "prefetch"},
            {"X-Moz": "prefetch"},
            {"X-Purpose": "preview"},
        ],
    )
    def test_what_nobody_sees_does_not_spend_it(self, client, made, header):
        """A browser that looks ahead gets nothing, and the person gets the page."""
        where = f"/phone/{made[2]}/"
        assert client.get(where, headers=header).status_code == 204
        assert client.head(where).status_code == 204
        assert client.get(where).status_code == 200
        assert client.head(where).status_code == 410

    def test_only_get_and_head(self, client, made):
        """Nothing is sent to it."""
        assert client.post(f"/phone/{made[2]}/").status_code == 405

    def test_an_unknown_page_is_not_there(self, client):
        """404 with words; from the twenty-first guess on 429."""
        codes = [client.get(f"/phone/guess-{n}/").status_code for n in range(21)]
        assert codes == [404] * 20 + [429]

    @pytest.mark.parametrize("wrong", ["x" * 5000, "%00", "..%2f..%2f", "é", "a b", "'--"])
    def test_garbage_is_not_there_either(self, client, wrong):
        """404, whatever is written there."""
        assert client.get(f"/phone/{wrong}/").status_code == 404
        assert client.get(f"/feed/{wrong}.ics").status_code == 404

    def test_a_hostile_name_is_only_a_name(self, client):
        """Shown as written, run by nobody."""
        name = '"><script>alert(1)</script>'
        CrewFactory(name=name, slug="ground")
        link, token = make_link("crew:ground", person=name, now=wall_now())
        told = client.get(f"/phone/{make_setup(link, token, wall_now())}/").content.decode()
        assert "<script>" not in told
        assert told.count("&lt;script&gt;alert(1)") == 3


class TestReplacing:
    """A phone that is lost or new."""

    @pytest.fixture(autouse=True)
    def _owner(self, client):
        client.force_login(PersonFactory(role="owner"))

    def test_a_new_link_for_the_same_person_and_the_old_one_is_off(self, client, made):
        """The old address says that it was turned off; the new one has the events."""
        link, token, _ = made
        CalendarEventFactory(subject="crew:ground", title="Grade the yard")
        answer = client.post(f"/calendars/{link.pk}/replace/")
        shown = answer.context["link"]
        assert "no-store" in answer["Cache-Control"]
        old, new = FeedLink.objects.order_by("pk")
        assert (new.subject, new.person, new.revoked, old.revoked is None) == (
            "crew:ground",
            "Ana",
            None,
            False,
        )
        titles = [
            read_strictly(client.get(address).content).inside("VEVENT")[0].one("SUMMARY").text
            for address in (f"/feed/{token}.ics", shown.address)
        ]
        assert titles == ["This calendar link was turned off", "Grade the yard"]

    def test_its_set_up_page_opens_the_new_link(self, client, made):
        """And the page of the old link opens no more."""
        link, _, page = made
        shown = client.post(f"/calendars/{link.pk}/replace/").context["link"]
        assert client.get(shown.setup).context["phone"].address == shown.address
        assert client.get(f"/phone/{page}/").status_code == 410

    def test_the_list_says_which_phone_was_set_up(self, client, made):
        """When its page was opened."""
        client.get(f"/phone/{made[2]}/")
        (row,) = client.get(PAGE).context["links"]
        assert row.set_up is not None

    def test_what_is_off_cannot_be_replaced(self, client, made):
        """A new one is made by hand."""
        revoke(made[0], wall_now())
        assert client.post(f"/calendars/{made[0].pk}/replace/").status_code == 404
        assert FeedLink.objects.count() == 1

    @pytest.mark.parametrize("role", ["lead", "viewer"])
    def test_others_may_not(self, client, made, role):
        """403, and the old link stays on."""
        client.force_login(PersonFactory(role=role))
        assert client.post(f"/calendars/{made[0].pk}/replace/").status_code == 403
        assert FeedLink.objects.get().revoked is None

    def test_two_links_of_one_crew_live_apart(self, client, made):
        """Turning Ana's off leaves Ben's on."""
        link, token, _ = made
        _, other = make_link("crew:ground", person="Ben", now=wall_now())
        CalendarEventFactory(subject="crew:ground", title="Grade the yard")
        bodies = [client.get(f"/feed/{each}.ics").content for each in (token, other)]
        assert bodies[0] == bodies[1]
        client.post(f"/calendars/{link.pk}/turn-off/")
        assert client.get(f"/feed/{token}.ics").content != bodies[0]
        assert client.get(f"/feed/{other}.ics").content == bodies[0]
