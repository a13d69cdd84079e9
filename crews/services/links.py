"""Secret addresses: made once, shown once, stored only as a hash, and turned off for good."""

from __future__ import annotations

import hashlib
import secrets
from base64 import urlsafe_b64encode
from datetime import timedelta
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Q
from django.utils.crypto import salted_hmac

from crews.models import FeedLink

from .shelf import key_of, shelf

if TYPE_CHECKING:
    from datetime import datetime

TOKEN_BYTES = 32
SALT = "crews.links"
TOLD_AFTER_REVOKING = timedelta(days=14)
"""How long a turned-off calendar link still says so before its address is gone."""
READ_NOTED_EVERY = timedelta(hours=1)


def make_link(
    subject: str, *, label: str = "", person: str = "", now: datetime
) -> tuple[FeedLink, str]:
    """Make a secret address for a subject.

    Parameters
    ----------
    subject
        Whose it is: ``crew:<slug>``, ``machine:<slug>``, ``person:<pk>``, ``all``,
        ``homeowner:<job uid>``.
    label
        What it is called where links are listed, and for a homeowner the name of the calendar.
    person
        Who holds it.
    now
        Aware instant it is made at.

    Returns
    -------
    tuple
        The stored link and its token. The token is nowhere else: show it now or never.
    """
    token = secrets.token_urlsafe(TOKEN_BYTES)
    return _new(token, now, subject=subject, label=label, person=person), token


def _new(token: str, now: datetime, **told: str) -> FeedLink:
    link = FeedLink(hash=hash_of(token), **told)
    link.save(force_insert=True)
    return _made(link, now)


def _made(link: FeedLink, now: datetime) -> FeedLink:
    FeedLink.objects.filter(pk=link.pk).update(created=now)
    link.created = now
    return link


def make_link_once(
    subject: str, *, once: str, label: str = "", person: str = "", now: datetime
) -> tuple[FeedLink, str, bool]:
    """Make a secret address as a form asks for it; sent twice it is one address.

    Its token follows from the number minted with the form, by the house's own key: only the house can
    say it again, and only to who holds that form.

    Parameters
    ----------
    once
        Minted with the form; empty makes a fresh address each time.

    Returns
    -------
    tuple
        The link, its token, and True if it was made only now. One turned off meanwhile is not shown again.
    """
    if once:
        token = token_by(once, subject, person)
        values = {"subject": subject, "label": label, "person": person}
        link, new = FeedLink.objects.get_or_create(hash=hash_of(token), defaults=values)
        if link.revoked is None:
            return _made(link, now) if new else link, token, new
    return *make_link(subject, label=label, person=person, now=now), True


def token_by(once: str, *said: str) -> str:
    """Return the token that follows from the number of a form and what it said, by the house's own key.

    Without a number a fresh one that nobody can say again.
    """
    if not once:
        return secrets.token_urlsafe(TOKEN_BYTES)
    told = salted_hmac(SALT, " ".join((once, *said)), algorithm="sha256").digest()
    return urlsafe_b64encode(told).decode().rstrip("=")


def hash_of(token: str) -> str:
    """Return the hash under which a token is stored; 32 random bytes need no salt."""
    return hashlib.sha256(token.encode()).hexdigest()


def find_link(token: str) -> FeedLink | None:
    """Return the link of a token, turned off or not; None if there is none."""
    return FeedLink.objects.filter(hash=hash_of(token)).first()


def revoke(link: FeedLink, now: datetime) -> None:
    """Turn a link off; one that is off already keeps its first date. Its last body is forgotten."""
    shelf().delete(key_of(link.hash))
    FeedLink.objects.filter(pk=link.pk, revoked__isnull=True).update(revoked=now, modified=now)
    link.refresh_from_db(fields=["revoked", "modified"])


@transaction.atomic
def replace_link(link: FeedLink, now: datetime, *, once: str = "") -> tuple[FeedLink, str]:
    """Turn a link off and make another for the same person and calendar.

    Parameters
    ----------
    once
        Minted with the form that asks: sent twice, it is one link, shown again.

    Raises
    ------
    FeedLink.DoesNotExist
        If it was turned off by somebody else.

    Returns
    -------
    tuple
        The new link and its token, seen only now.
    """
    token = token_by(once, "replace", str(link.pk))
    FeedLink.objects.select_for_update().get(pk=link.pk)  # one after the other
    made = FeedLink.objects.filter(hash=hash_of(token), revoked=None).first()
    if made is not None:
        return made, token
    link = FeedLink.objects.filter(revoked=None).get(pk=link.pk)
    revoke(link, now)
    told = {"subject": link.subject, "label": link.label, "person": link.person}
    return _new(token, now, **told), token


def note_reading(link: FeedLink, now: datetime) -> None:
    """Note that the link was read, at most once an hour."""
    due = now - READ_NOTED_EVERY
    if link.last_read is not None and link.last_read > due:
        return
    stale = Q(last_read__isnull=True) | Q(last_read__lte=due)
    FeedLink.objects.filter(stale, pk=link.pk).update(last_read=now)
    link.last_read = now
