"""Phones that open their crew's own page: given out, set up once, known again, turned off."""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import TYPE_CHECKING

from crews.models import CrewPhone

from .links import TOKEN_BYTES, hash_of, token_by
from .phone import OPENS_FOR, SetupSpentError, UnknownSetupError

if TYPE_CHECKING:
    from datetime import datetime

    from crews.models import Crew

SEEN_EVERY = timedelta(hours=1)
"""Least time between two notes of when a phone was seen last."""


def give_out(crew: Crew, person: str, now: datetime, *, once: str = "") -> tuple[CrewPhone, str]:
    """Make a set-up address for somebody's phone; return the row, and the token that nobody keeps.

    Parameters
    ----------
    once
        Minted with the form that asks: sent twice, it is one phone. Turned off or too old meanwhile, it is another.

    Raises
    ------
    SetupSpentError
        If a phone was set up by what this form made before.
    """
    token = token_by(once, "phone", crew.slug, person)
    told = {"crew": crew, "person": person, "until": now + OPENS_FOR}
    phone, _ = CrewPhone.objects.get_or_create(setup=hash_of(token), defaults=told)
    if phone.revoked is not None or (phone.opened is None and now >= phone.until):
        return give_out(crew, person, now)
    if phone.opened is not None:
        raise SetupSpentError
    return phone, token


def waiting(token: str, now: datetime) -> CrewPhone:
    """Return the phone that a set-up address may still make, without opening it.

    Raises
    ------
    UnknownSetupError
        If there is no such address.
    SetupSpentError
        If it was opened, lay too long or was turned off.
    """
    phone = CrewPhone.objects.filter(setup=hash_of(token)).select_related("crew").first()
    if phone is None:
        raise UnknownSetupError
    if phone.opened is not None or phone.revoked is not None or now >= phone.until:
        raise SetupSpentError
    return phone


def set_up(token: str, now: datetime) -> tuple[CrewPhone, str]:
    """Open a set-up address for good; return the phone and the token for its cookie.

    Of two phones that ask at once one gets it: the row is claimed by a conditional update.

    Raises
    ------
    UnknownSetupError, SetupSpentError
        As ``waiting`` does.
    """
    phone, held = waiting(token, now), secrets.token_urlsafe(TOKEN_BYTES)
    free = CrewPhone.objects.filter(pk=phone.pk, opened=None, revoked=None)
    if not free.update(opened=now, modified=now, hash=hash_of(held)):
        raise SetupSpentError
    return phone, held


def phone_of(token: str) -> CrewPhone | None:
    """Return the phone that holds a token; None if it was turned off or its crew is no more."""
    live = CrewPhone.objects.filter(hash=hash_of(token), revoked=None, crew__active=True)
    return live.select_related("crew").first()


def seen(phone: CrewPhone, now: datetime) -> None:
    """Note that a phone was seen, at most once an hour."""
    if phone.last_seen is None or now - phone.last_seen >= SEEN_EVERY:
        CrewPhone.objects.filter(pk=phone.pk).update(last_seen=now)


def turn_off(phone: CrewPhone, now: datetime) -> None:
    """Turn a phone off for good; what it says afterwards is refused."""
    CrewPhone.objects.filter(pk=phone.pk, revoked=None).update(revoked=now, modified=now)
