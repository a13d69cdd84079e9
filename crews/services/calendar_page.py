"""What the calendar pages show: the links there are, and how one gets onto a phone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from django.db.models import Max

from crews.models import CrewPhone, FeedLink

from .qr import SquareCode, square_code
from .subjects import KINDS, calendar_name, name_on, with_names

if TYPE_CHECKING:
    from datetime import datetime

ACCOUNT = "https://calendar.google.com/calendar/render"
"""Asks whoever is signed in there to add the calendar; widely used, written down nowhere."""
KIND_WORDS = {
    "crew": "Crew",
    "machine": "Machine",
    "person": "Person",
    "all": "Everything",
    "homeowner": "Homeowner",
}


@dataclass(frozen=True, slots=True)
class LinkRow:
    """One link as listed; its address is known to nobody but its holder."""

    pk: int
    name: str
    kind: str
    person: str
    made: datetime
    set_up: datetime | None
    last_read: datetime | None
    turned_off: datetime | None


@dataclass(frozen=True, slots=True)
class NewLink:
    """A link just made, shown this once: a code for one phone, and the address for anything else."""

    name: str
    person: str
    address: str
    setup: str
    code: SquareCode


@dataclass(frozen=True, slots=True)
class NewPhone:
    """A set-up address of a crew's page, shown this once."""

    crew: str
    person: str
    address: str
    code: SquareCode


@dataclass(frozen=True, slots=True)
class PhonePage:
    """What a phone needs to take a calendar in: its address, as each kind of calendar wants it."""

    name: str
    person: str
    address: str
    tap: str
    account: str


def calendar_links() -> list[LinkRow]:
    """Return all links of feeds in one query, live ones first, then by name."""
    links = with_names(FeedLink.objects.annotate(set_up=Max("setups__opened")))
    rows = [
        LinkRow(
            pk=link.pk,
            name=name_on(link),
            kind=KIND_WORDS[kind],
            person=link.person,
            made=link.created,
            set_up=link.set_up,
            last_read=link.last_read,
            turned_off=link.revoked,
        )
        for link in links
        if (kind := link.subject.partition(":")[0]) in KINDS
    ]
    return sorted(rows, key=lambda row: (row.turned_off is not None, row.name, row.pk))


def new_link(link: FeedLink, name: str, address: str, setup: str) -> NewLink:
    """Return what is shown of a new link.

    Parameters
    ----------
    address
        Whole address of the feed, with its secret.
    setup
        Whole address of its set-up page, which opens once.
    """
    return NewLink(calendar_name(name), link.person, address, setup, square_code(setup))


def crew_phones() -> list[CrewPhone]:
    """Return the phones that open a crew's page or still may, by crew and person."""
    return list(CrewPhone.objects.filter(revoked=None).select_related("crew"))


def new_phone(phone: CrewPhone, address: str) -> NewPhone:
    """Return what is shown of a phone that is yet to be set up."""
    return NewPhone(phone.crew.name, phone.person, address, square_code(address))


def phone_page(link: FeedLink, address: str) -> PhonePage:
    """Return what one phone is shown, once. Phones take ``webcal:`` as "subscribe to"."""
    tap = "webcal:" + address.partition(":")[2]
    name = name_on(with_names(FeedLink.objects.filter(pk=link.pk)).get())
    account = f"{ACCOUNT}?{urlencode({'cid': tap})}"
    return PhonePage(calendar_name(name), link.person, address, tap, account)
