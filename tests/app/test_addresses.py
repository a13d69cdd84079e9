"""Every address there is: who is let in, asked of all of them, so that a new one cannot be forgotten."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from crews.models import Role
from crews.services.redact import without_secrets
from tests.office import open_office, signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator

    from django.urls import URLResolver

pytestmark = pytest.mark.django_db

WITHOUT_SIGNING_IN = {
    "sign-in": (200, 200),
    "sign-out": (405, 302),
    "crews:feed": (404, 405),
    "crews:phone": (404, 405),
    "homeowner": (404, 405),
    "crew-set-up": (404, 404),
    "crew-page": (403, 405),
    "crew-worker": (200, 405),
    "crew-gate": (404, 405),
    "crew-on-site": (404, 405),
    "crew-say": (405, 403),
    "crew-rained": (405, 403),
    "crew-photo": (405, 403),
    "crew-take-back": (405, 403),
}
"""What a secret address, a crew's phone or nobody at all may open, and how they answer a guess by GET
and by POST: the sign-in and the script that keeps taps hold nothing of ours."""
EVERYBODY = {
    "tomorrow", "look-ahead", "evening", "jobs", "rough", "job", "export-job", "first-finish",
    "sheet", "sooner", "record", "day", "moved", "health", "job-health", "activities", "activity",
    "climate", "numbers", "photo", "library", "wait", "entry", "template", "plan", "odds",
    "promises", "safe", "solve", "what-if", "looking", "storm", "told", "crews", "machines",
    "crews:calendars", "on-site",
}  # fmt: skip
"""Read by everybody with an account."""
SOME_BY_THEIR_WORK = {
    "password",
    "say-day",
    "log-line",
    "take-line-back",
    "changes",
    "change-order",
}
"""A lead logs where its crew works, everybody reads change orders and has a password: tested with those pages."""
OWNERS = {
    "settings", "add-hours", "remove-hours", "close-holidays", "sign-ins", "keep-sign-in", "forget",
}  # fmt: skip


def addresses() -> dict[str, str]:
    """Return every address of the program by name, its gaps filled with what does not exist."""
    gaps = {"slug": "nothing", "uid": "nothing", "key": "nothing", "section": "nothing"}
    gaps |= {"kind": "nothing", "size": "nothing", "token": "a-wild-guess", "pk": 1, "number": 1}
    return {
        name: reverse(name, kwargs={gap: gaps[gap] for gap in one.pattern.converters})
        for name, one in _named(get_resolver())
    }


def _named(of: URLResolver, space: str = "") -> Iterator[tuple[str, URLPattern]]:
    for one in of.url_patterns:
        if isinstance(one, URLPattern):
            yield f"{space}{one.name}", one
        elif one.namespace != "admin":
            yield from _named(one, f"{one.namespace}:")


def answers(client: Client, address: str) -> tuple[int, int]:
    """Status of a GET and of a POST."""
    return client.get(address).status_code, client.post(address).status_code


def test_every_list_names_addresses_there_are():
    """A renamed address leaves no line behind."""
    listed = {*WITHOUT_SIGNING_IN, *EVERYBODY, *SOME_BY_THEIR_WORK, *OWNERS}
    assert listed - addresses().keys() == set()


def test_strangers_are_sent_to_sign_in_from_all_but_a_few():
    """By whatever method an address takes; what it does not take it refuses before."""
    for name, address in addresses().items():
        if name in WITHOUT_SIGNING_IN:
            continue
        told = {
            (answer.status_code, answer.headers.get("Location", ""))
            for answer in (Client().get(address), Client().post(address, headers=_from(address)))
        }
        assert told - {(405, "")} == {(302, f"/sign-in/?next={address}")}, name


def _from(address: str) -> dict[str, str]:
    """What a browser says of the page that a form stood on, from where one comes back to it."""
    return {"referer": f"http://testserver{address}"}


def test_those_few_tell_a_stranger_nothing():
    """A guessed secret, and a phone nobody set up."""
    every = addresses()
    told = {name: answers(Client(), every[name]) for name in WITHOUT_SIGNING_IN}
    assert told == WITHOUT_SIGNING_IN


def test_who_only_looks_changes_nothing():
    """Refused before it is looked up whether there is such a thing."""
    open_office()
    viewer = signed_in(Role.VIEWER)
    for name, address in addresses().items():
        if name not in {*WITHOUT_SIGNING_IN, *EVERYBODY, *SOME_BY_THEIR_WORK}:
            assert set(answers(viewer, address)) - {405} == {403}, name


def test_what_everybody_reads_takes_no_post():
    """Reading pages change nothing."""
    open_office()
    viewer, every = signed_in(Role.VIEWER), addresses()
    told = {name: viewer.post(every[name]).status_code for name in EVERYBODY}
    assert told == dict.fromkeys(EVERYBODY, 405)


def test_only_owners_change_the_company():
    """A scheduler plans, but does not set up."""
    open_office()
    scheduler, every = signed_in(Role.SCHEDULER), addresses()
    told = {name: set(answers(scheduler, every[name])) - {405} for name in OWNERS}
    assert told == {name: {403} for name in OWNERS}


@pytest.mark.parametrize("role", list(Role))
def test_the_tables_behind_are_for_support_only(role):
    """No role of the office opens them."""
    assert signed_in(role).get("/support/").status_code == 302


def test_no_secret_of_an_address_reaches_the_log():
    """Django logs what it refuses by its address; the filter blanks whatever an address calls a token."""
    every, slashes = addresses(), {"crews:feed": ".ics"}
    secret = [name for name, one in _named(get_resolver()) if "token" in one.pattern.converters]
    told = {name: without_secrets(every[name]) for name in secret}
    assert told == {
        name: f"{every[name].partition('a-wild-guess')[0]}(secret){slashes.get(name, '/')}"
        for name in ("homeowner", "crew-set-up", "crews:feed", "crews:phone")
    }


def test_a_form_from_another_site_is_refused():
    """Every post carries the token of a page of ours, signed in or not."""
    client = Client(enforce_csrf_checks=True)
    told = {name: client.post(address).status_code for name, address in addresses().items()}
    assert told == dict.fromkeys(addresses(), 403)
