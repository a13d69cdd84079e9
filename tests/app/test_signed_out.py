"""A sign-in that ended under the hand of somebody at work: told, and back to the page."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from crews.access import SENT_IN_VAIN
from crews.models import Role, TimeOff
from jobs.models import Company
from tests.office import signed_in

pytestmark = pytest.mark.django_db
PAGE = "http://testserver/crews/?all=1"


def test_a_form_says_that_nothing_was_kept_and_leads_back_to_its_page():
    """Not to the form's own address, which nobody can look at."""
    told = {"first": "2026-07-01", "why": "fair"}
    answer = Client().post(reverse("add-days-off"), told, headers={"referer": PAGE}, follow=True)
    assert answer.redirect_chain == [("/sign-in/?next=/crews/%3Fall%3D1", 302)]
    assert SENT_IN_VAIN.replace("'", "&#x27;") in answer.content.decode()
    assert TimeOff.objects.count() == 0


@pytest.mark.parametrize("told", ["", "https://elsewhere.example/crews/"])
def test_without_a_page_of_ours_it_leads_to_the_first_screen(told):
    """No address of strangers is gone to."""
    answer = Client().post(reverse("add-days-off"), headers={"referer": told})
    assert answer["Location"] == "/sign-in/?next=/"


def test_a_page_that_looks_by_itself_goes_to_sign_in_as_a_whole():
    """No sign-in form inside a box of the page."""
    answer = Client().get(reverse("solve"), headers={"hx-request": "true", "hx-current-url": PAGE})
    assert (answer.status_code, answer["HX-Redirect"]) == (204, "/sign-in/?next=/crews/%3Fall%3D1")


def test_what_is_being_typed_stays():
    """Measures asked for while somebody types: no answer, no leaving of the page."""
    answer = Client().post(reverse("ask-solve"), headers={"hx-request": "true"})
    assert (answer.status_code, answer.content) == (401, b"")


def test_an_address_of_a_form_says_what_it_is():
    """Whoever comes to it by the address bar, or by loading a restored window."""
    answer = signed_in().get(reverse("make-plan"))
    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    assert "only takes what a form sends" in answer.content.decode()


def test_a_page_older_than_the_sign_in_is_told_in_the_houses_words():
    """The token of its form is of the sign-in before."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(signed_in(Role.OWNER).get("/password/").wsgi_request.user)
    answer = client.post(reverse("make-plan"), {"csrfmiddlewaretoken": "x" * 64})
    assert answer.status_code == 403
    assert "load the page anew" in answer.content.decode()


def test_before_there_is_a_company_its_settings_are_its_set_up():
    """The head of every page links to them."""
    assert Company.objects.count() == 0
    assert signed_in().get(reverse("settings"))["Location"] == reverse("first-visit")
