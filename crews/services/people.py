"""People who sign in: the first one is made by a command, everybody else on the owners' page."""

from __future__ import annotations

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from crews.models import Person, Role


class BadPersonError(Exception):
    """Why a person cannot be made, in a sentence or two."""


def create_owner(email: str, name: str, password: str) -> Person:
    """Make an owner, who may change everything.

    Raises
    ------
    BadPersonError
        As ``create_person`` does.
    """
    return create_person(email, name, password, Role.OWNER)


@transaction.atomic
def create_person(email: str, name: str, password: str, role: str) -> Person:
    """Make somebody who signs in; the e-mail address is the user name.

    Raises
    ------
    BadPersonError
        If the address is none or taken, the name empty, or the password too weak.
    """
    email, name = email.strip().lower(), name.strip()
    person = Person(username=email, email=email, name=name, role=role)
    try:
        validate_email(email)
        validate_password(password, person)
    except ValidationError as bad:
        raise BadPersonError(" ".join(bad.messages)) from bad
    if not name:
        raise BadPersonError("The name is empty.")
    if Person.objects.filter(username__iexact=email).exists():
        raise BadPersonError(f"{email} has a sign-in already.")
    person.set_password(password)
    person.save()
    return person


@transaction.atomic
def change_person(person: Person, *, role: str, active: bool) -> Person:
    """Give somebody another role, or let nobody in by that sign-in any more; open pages end at once.

    Raises
    ------
    BadPersonError
        If nobody would be left who may change the company.
    """
    owners = Person.objects.select_for_update().filter(role=Role.OWNER, is_active=True)
    others = [one for one in owners if one.pk != person.pk]
    if not others and (role != Role.OWNER or not active):
        raise BadPersonError(f"{person} is the only owner: make somebody else one first.")
    person.role, person.is_active = role, active
    person.save(update_fields=["role", "is_active"])
    return person
