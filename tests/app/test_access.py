"""Who may see and who may change; what a secret address opens."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse

from crews.access import asked_from, may_edit, secret_link, signed_in, too_many_misses
from crews.models import Guesses
from crews.services.links import make_link, revoke
from crews.services.today import wall_now
from tests.factories import PersonFactory

pytestmark = pytest.mark.django_db
ROLES = ["owner", "scheduler", "lead", "viewer"]


@signed_in
def look(request, word):
    """A page that anybody signed in may see."""
    return HttpResponse(f"{request.user} sees {word}")


@may_edit
def change(request, word):
    """A page that only some may use."""
    return HttpResponse(f"{request.user} changes {word}")


@pytest.fixture
def ask(rf):
    """Answer of a view to somebody of a role; no role is a stranger."""

    def answer(view, role=None):
        request = rf.get("/yard/")
        request.user = PersonFactory(name="Ana", role=role) if role else AnonymousUser()
        return view(request, word="it")

    return answer


@pytest.mark.parametrize("role", ROLES)
def test_everybody_signed_in_may_look(ask, role):
    """Four roles."""
    assert ask(look, role).content == b"Ana sees it"


@pytest.mark.parametrize("view", [look, change])
def test_strangers_are_sent_to_sign_in_and_back(ask, view):
    """Whatever they asked for."""
    answer = ask(view)
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/?next=/yard/")


@pytest.mark.parametrize("role", ROLES[:2])
def test_owners_and_schedulers_may_change(ask, role):
    """The first two roles."""
    assert ask(change, role).content == b"Ana changes it"


@pytest.mark.parametrize("role", ROLES[2:])
def test_others_are_told_whom_to_ask(ask, role):
    """Django makes the 403 page of it."""
    with pytest.raises(PermissionDenied, match="Only an owner or a scheduler may change this"):
        ask(change, role)


def test_views_keep_their_names():
    """For tracebacks and for the resolver."""
    assert (look.__name__, change.__name__) == ("look", "change")


class TestSecretLinks:
    """One check for every page behind a secret address."""

    def test_a_live_link_of_a_right_kind_opens(self):
        """Any kind, if none is asked for."""
        link, token = make_link("homeowner:4fa1", now=wall_now())
        assert secret_link(token) == link
        assert secret_link(token, "crew", "homeowner") == link

    @pytest.mark.parametrize("kinds", [("crew",), ("home",)])
    def test_a_link_of_another_kind_is_not_there(self, kinds):
        """A homeowner's link opens no crew page; which kind it is is not told."""
        _, token = make_link("homeowner:4fa1", now=wall_now())
        with pytest.raises(Http404, match=r"^No such page$"):
            secret_link(token, *kinds)

    def test_a_link_that_was_turned_off_is_not_there(self):
        """From the moment it is turned off."""
        link, token = make_link("all", now=wall_now())
        revoke(link, wall_now())
        with pytest.raises(Http404, match=r"^No such page$"):
            secret_link(token)

    def test_no_link(self):
        """A guess."""
        with pytest.raises(Http404, match=r"^No such page$"):
            secret_link("guess")


class TestMisses:
    """How many wrong addresses one asker may try."""

    def test_the_twenty_first_is_one_too_many(self, rf):
        """In ten minutes, from one address; another address is another count."""
        guesser, other = rf.get("/", REMOTE_ADDR="192.0.2.1"), rf.get("/", REMOTE_ADDR="192.0.2.2")
        assert [too_many_misses(guesser) for _ in range(21)] == [False] * 20 + [True]
        assert not too_many_misses(other)

    def test_passwords_are_counted_apart(self, client):
        """After twenty wrong ones not even the right one opens; a mistyped calendar locks nobody out."""
        owner = PersonFactory(role="owner")
        owner.set_password("right and long enough")
        owner.save()

        def tried(password: str) -> int:
            told = {"username": owner.username, "password": password}
            return client.post("/sign-in/", told).status_code

        for _ in range(21):
            client.get("/feed/a-guess.ics")
        assert client.get("/feed/a-guess.ics").status_code == 429
        assert [tried("wrong") for _ in range(20)] == [200] * 20
        answer = client.post(
            "/sign-in/", {"username": owner.username, "password": "right and long enough"}
        )
        assert answer.status_code == 429
        assert "Wait ten minutes" in answer.content.decode()
        Guesses.objects.all().delete()
        assert tried("right and long enough") == 302

    def test_homeowners_addresses_are_no_lottery_either(self, client):
        """Counted with the calendars' addresses."""
        told = [client.get("/h/a-guess/").status_code for _ in range(21)]
        assert told == [404] * 20 + [429]

    @pytest.mark.parametrize(("trusted", "address"), [(True, "192.0.2.7"), (False, "10.0.0.1")])
    def test_only_a_trusted_proxy_is_believed(self, rf, settings, trusted, address):
        """It appends whom it saw; anything before may be made up."""
        settings.USE_X_FORWARDED_HOST = trusted
        told = {"HTTP_X_FORWARDED_FOR": "203.0.113.9, 192.0.2.7", "REMOTE_ADDR": "10.0.0.1"}
        assert asked_from(rf.get("/", **told)) == address
