"""Set-up pages: an address that opens once and hands a calendar's secret to one phone.

The secret of a feed is kept nowhere, only its hash. Until the page is opened the feed's token lies
sealed beside it: each octet is mixed with one that only the page's own token gives, and that token is
not kept either. Whoever reads the database alone can open neither.
"""

from __future__ import annotations

import hmac
from base64 import urlsafe_b64decode, urlsafe_b64encode
from datetime import timedelta
from typing import TYPE_CHECKING

from crews.models import PhoneSetup

from .links import hash_of, token_by

if TYPE_CHECKING:
    from datetime import datetime

    from crews.models import FeedLink

OPENS_FOR = timedelta(days=7)
"""A square code on a note by the door is not good for ever."""
SEAL = b"feed token for one phone"


class UnknownSetupError(Exception):
    """No set-up page has that token."""


class SetupSpentError(Exception):
    """The page was opened before, lay too long, or its calendar link was turned off."""


def make_setup(link: FeedLink, token: str, now: datetime, *, once: str = "") -> str:
    """Return the token of a set-up page for a feed link that was just made.

    Sent twice by one form it is one page: opened already, it opens no more.

    Parameters
    ----------
    token
        Token of the feed, as ``make_link`` returned it.
    now
        Aware instant; the page opens for a week.
    once
        Minted with the form that asks; empty for a fresh page.
    """
    page = token_by(once, "setup", str(link.pk))
    sealed = _mixed(urlsafe_b64decode(token + "="), page).hex()
    told = {"link": link, "sealed": sealed, "until": now + OPENS_FOR}
    PhoneSetup.objects.get_or_create(hash=hash_of(page), defaults=told)
    return page


def open_setup(page: str, now: datetime) -> tuple[FeedLink, str]:
    """Open a set-up page for good and return the link with the token of its feed.

    Of two phones that ask at once, one gets it: the row is claimed by a conditional update.

    Raises
    ------
    UnknownSetupError
        If there is no such page.
    SetupSpentError
        If it opens no more.
    """
    setup = find_setup(page)
    if not can_open(setup, now):
        raise SetupSpentError
    claimed = PhoneSetup.objects.filter(pk=setup.pk, opened__isnull=True).update(
        opened=now, modified=now, sealed=""
    )
    if not claimed:
        raise SetupSpentError
    token = urlsafe_b64encode(_mixed(bytes.fromhex(setup.sealed), page)).decode().rstrip("=")
    return setup.link, token


def find_setup(page: str) -> PhoneSetup:
    """Return the set-up page of a token, spent or not.

    Raises
    ------
    UnknownSetupError
        If there is none.
    """
    setup = PhoneSetup.objects.filter(hash=hash_of(page)).select_related("link").first()
    if setup is None:
        raise UnknownSetupError
    return setup


def can_open(setup: PhoneSetup, now: datetime) -> bool:
    """Return True if the page was not opened yet, is young enough, and its link is on."""
    return setup.opened is None and now < setup.until and setup.link.revoked is None


def _mixed(octets: bytes, page: str) -> bytes:
    """Mix 32 octets with 32 that the page's token gives; twice gives them back."""
    pad = hmac.digest(page.encode(), SEAL, "sha256")
    return bytes(a ^ b for a, b in zip(octets, pad, strict=True))
