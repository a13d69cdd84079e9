"""Who signs in, and as what, with a line in the record each."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction

from crews.services.people import change_person, create_person
from jobs.services.history import record

if TYPE_CHECKING:
    from crews.models import Person
    from jobs.services.history import Who


class NewSignIn(NamedTuple):
    """Somebody who shall sign in, with the first password, which is stored as a hash only."""

    email: str
    name: str
    role: str
    password: str


@transaction.atomic
def add_sign_in(new: NewSignIn, who: Who) -> Person:
    """Let somebody sign in.

    Raises
    ------
    BadPersonError
        If the address is none or taken, the name empty, or the password too weak.
    """
    person = create_person(new.email, new.name, new.password, new.role)
    record("sign-in made", by=who.by, at=who.now, after=told(person))
    return person


@transaction.atomic
def keep_sign_in(person: Person, role: str, *, active: bool, who: Who) -> None:
    """Give somebody another role, or turn the sign-in off or on.

    Raises
    ------
    BadPersonError
        If nobody would be left who may change the company.
    """
    before = told(person)
    after = told(change_person(person, role=role, active=active))
    if before != after:
        record("sign-in changed", by=who.by, at=who.now, before=before, after=after)


def told(person: Person) -> dict[str, str]:
    """Return a sign-in as the record keeps it; never its address or password."""
    return {
        "name": person.name,
        "role": person.get_role_display(),
        "may sign in": "yes" if person.is_active else "no",
    }
