"""People who sign in: the first one is made by a command, everybody else on a page."""

from __future__ import annotations

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from crews.models import Person, Role


class BadPersonError(Exception):
    """Why a person cannot be made, in a sentence or two."""


@transaction.atomic
def create_owner(email: str, name: str, password: str) -> Person:
    """Make an owner; the e-mail address is the user name.

    Raises
    ------
    BadPersonError
        If the address is none or taken, the name empty, or the password too weak.
    """
    email, name = email.strip().lower(), name.strip()
    person = Person(username=email, email=email, name=name, role=Role.OWNER)
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
