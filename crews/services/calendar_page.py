"""What the calendar pages show: the links there are, and how one gets onto a phone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from crews.models import FeedLink

from .qr import SquareCode, square_code
from .subjects import KINDS, calendar_name, name_on, with_names

if TYPE_CHECKING:
    from datetime import datetime

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
    last_read: datetime | None
    turned_off: datetime | None


@dataclass(frozen=True, slots=True)
class NewLink:
    """A link just made, shown this once."""

    name: str
    person: str
    address: str
    tap: str
    code: SquareCode


def calendar_links() -> list[LinkRow]:
    """Return all links of feeds in one query, live ones first, then by name."""
    links = with_names(FeedLink.objects.all())
    rows = [
        LinkRow(
            pk=link.pk,
            name=name_on(link),
            kind=KIND_WORDS[kind],
            person=link.person,
            made=link.created,
            last_read=link.last_read,
            turned_off=link.revoked,
        )
        for link in links
        if (kind := link.subject.partition(":")[0]) in KINDS
    ]
    return sorted(rows, key=lambda row: (row.turned_off is not None, row.name, row.pk))


def new_link(name: str, person: str, address: str) -> NewLink:
    """Return what is shown of a new link.

    Parameters
    ----------
    address
        Whole address of the feed, with its secret. Phones take ``webcal:`` as "subscribe to".
    """
    tap = "webcal:" + address.partition(":")[2]
    return NewLink(calendar_name(name), person, address, tap, square_code(tap))
