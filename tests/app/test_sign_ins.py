"""Who signs in is said by owners; everybody has a password of their own."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from crews.models import Person, Role
from jobs.models import HistoryEntry
from tests.office import signed_in

PASSWORD = "a-quiet-wren-at-dawn"
NEW = {"name": "Rosa Vale", "email": "Rosa@Example.com", "role": "scheduler", "password": PASSWORD}


def role_of(client: Client) -> str:
    """The role of who is signed in by a browser, by the link only owners are shown."""
    return client.get(reverse("jobs")).wsgi_request.user.role


def test_somebody_is_let_in_and_signs_in(owner):
    """The address is the user name, in small letters; only a hash of the password is stored."""
    owner.post(reverse("sign-ins"), NEW)
    rosa = Person.objects.get(username="rosa@example.com")
    assert (rosa.name, rosa.role, rosa.is_staff) == ("Rosa Vale", "scheduler", False)
    assert PASSWORD not in rosa.password
    client = Client()
    told = {"username": "rosa@example.com", "password": PASSWORD}
    assert client.post(reverse("sign-in"), told).status_code == 302
    assert role_of(client) == "scheduler"
    entry = HistoryEntry.objects.get(what="sign-in made")
    assert entry.after == {"name": "Rosa Vale", "role": "Scheduler", "may sign in": "yes"}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"email": "nobody"}, "e-mail"),
        ({"password": "short"}, "too short"),
        ({"password": "password"}, "too common"),
        ({"role": "king"}, "none of the choices"),
        ({"name": "  "}, "missing"),
        ({"email": "owner@example.com"}, "has a sign-in already"),
    ],
)
def test_what_is_wrong_is_told_and_nobody_is_let_in(owner, changes, words):
    """With 422, and the first password is not written into the page."""
    answer = owner.post(reverse("sign-ins"), NEW | changes)
    page = answer.content.decode()
    assert (answer.status_code, Person.objects.filter(name="Rosa Vale").exists()) == (422, False)
    assert words.lower() in page.lower()
    assert PASSWORD not in page


def test_a_sign_in_that_is_turned_off_ends_at_once(owner):
    """Also where somebody is signed in; turned on again it opens."""
    viewer = signed_in(Role.VIEWER)
    person = Person.objects.get(role=Role.VIEWER)
    assert viewer.get(reverse("jobs")).status_code == 200
    owner.post(reverse("keep-sign-in", args=[person.pk]), {"role": "viewer"})
    assert viewer.get(reverse("jobs")).status_code == 302
    owner.post(reverse("keep-sign-in", args=[person.pk]), {"role": "lead", "active": "on"})
    person.refresh_from_db()
    assert (person.role, person.is_active) == ("lead", True)


@pytest.mark.parametrize("told", [{"role": "viewer", "active": "on"}, {"role": "owner"}])
def test_the_only_owner_stays_one(owner, told):
    """Nobody could change the company any more."""
    me = only_owner()
    answer = owner.post(reverse("keep-sign-in", args=[me.pk]), told, follow=True)
    assert "is the only owner" in answer.content.decode()
    me.refresh_from_db()
    assert (me.role, me.is_active) == ("owner", True)


def only_owner() -> Person:
    """The owner whose browser asks; the invented company's own owner is turned off."""
    Person.objects.exclude(username="owner@example.com").update(is_active=False)
    return Person.objects.get(username="owner@example.com")


@pytest.mark.parametrize("role", [Role.SCHEDULER, Role.LEAD, Role.VIEWER])
def test_owners_only(owner, role):
    """Neither to look nor to change."""
    client = signed_in(role)
    assert client.get(reverse("sign-ins")).status_code == 403
    assert client.post(reverse("sign-ins"), NEW).status_code == 403
    assert client.post(reverse("keep-sign-in", args=[1]), {"role": "owner"}).status_code == 403


def test_the_list_takes_as_many_queries_for_three(owner, django_assert_num_queries):
    """Session, person, the list, and the company for the head of the page."""
    with django_assert_num_queries(4):
        owner.get(reverse("sign-ins"))
    for role in (Role.LEAD, Role.VIEWER):
        signed_in(role)
    with django_assert_num_queries(4):
        owner.get(reverse("sign-ins"))


def test_everybody_changes_the_own_password(db):
    """With the old one; this browser stays signed in, others of the same person do not."""
    here, elsewhere = signed_in(Role.VIEWER), signed_in(Role.VIEWER)
    person = Person.objects.get(role=Role.VIEWER)
    person.set_password("one-that-was-agreed-on")
    person.save()
    here.force_login(person)
    elsewhere.force_login(person)
    told = {"new_password1": PASSWORD, "new_password2": PASSWORD}
    wrong = here.post(reverse("password"), told | {"old_password": "a guess"})
    assert "incorrect" in wrong.content.decode()
    here.post(reverse("password"), told | {"old_password": "one-that-was-agreed-on"})
    person.refresh_from_db()
    assert person.check_password(PASSWORD)
    assert here.get(reverse("jobs")).status_code == 200
    assert elsewhere.get(reverse("jobs")).status_code == 302
