"""The feed on a bad day: wrong addresses, links turned off, things that break; no secret in the log."""

from __future__ import annotations

import logging
from datetime import timedelta

import pytest
from django.core.cache import caches

from crews.services.feeds import open_feed
from crews.services.links import revoke
from crews.services.redact import NoSecrets
from crews.services.today import wall_now
from tests.factories import (
    CalendarEventFactory,
)
from tests.feeds import link_to, titles

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("own_shelf")]


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
