"""Reading a feed: one link, one query, one body, and the last good one if anything breaks."""

from __future__ import annotations

import gzip
import hashlib
import logging
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zlib import crc32

from crews.ical import COLOURS, EventRow
from crews.ical import feed_body as write_body

from .feed_words import ENGLISH, languages, word
from .links import TOLD_AFTER_REVOKING, hash_of
from .nothing import nothing_event, stand_in
from .revision import named_link, rows_told
from .shelf import Recent, key_of, shelf
from .subjects import NOTHING, Subject, calendar_name, events_of, name_of, name_on, subject_of
from .today import plan_now

if TYPE_CHECKING:
    from collections.abc import Sequence

    from crews.models import CalendarEvent, FeedLink

    from .revision import Told

logger = logging.getLogger(__name__)
MOST_EVENTS = 1000
"""The latest so many events: years of one crew."""
FREE_KINDS = (NOTHING, "milestone")
FORMAT = "2"
"""Raise it when the same rows are written differently: it is part of the tag of a body."""


class UnknownLinkError(Exception):
    """No link has that token."""


class LinkGoneError(Exception):
    """The link was turned off so long ago that its address is gone."""


@dataclass(frozen=True, slots=True)
class Feed:
    """A body with what lets a phone ask only for news: a tag and the time of the last change."""

    body: bytes
    tag: str
    modified: datetime
    squeezed: bytes
    """The body as gzip."""


BODIES: Recent[Feed] = Recent(32)
"""By tag, in this process: a tag belongs to one body only, so nothing here can be out of date."""
SHELVED: Recent[str] = Recent(4000)
"""Tag of the body that this process last put on the shelf of a link."""


def open_feed(token: str, now: datetime) -> tuple[Feed, FeedLink | None]:
    """Return the feed a token opens, and its link.

    When anything inside breaks, the last good body is returned, without a link.

    Raises
    ------
    UnknownLinkError
        If no link has the token.
    LinkGoneError
        If the link was turned off two weeks ago or earlier.
    """
    key = key_of(hash_of(token))
    try:
        return _open(token, key, now)
    except (UnknownLinkError, LinkGoneError):
        raise
    except Exception:
        logger.exception("A feed could not be made; the last good one is given if there is one")
        last = shelf().get(key)
        if not isinstance(last, Feed):
            raise
        return last, None


def feed_body(subject: str, now: datetime, name: str = "") -> bytes:
    """Return the body of the feed of a subject, as its links give it.

    Parameters
    ----------
    now
        Aware instant: the week of the standing event if the feed has none yet.
    name
        Name of the yard for a homeowner's feed.

    Raises
    ------
    UnknownSubjectError
        If there is no such crew, machine or person, or no such kind of feed.
    """
    whose = subject_of(subject)
    return _write(whose, name or name_of(whose), _rows(whose, now))


def _open(token: str, key: str, now: datetime) -> tuple[Feed, FeedLink]:
    link = named_link(hash_of(token))
    if link is None:
        raise UnknownLinkError
    if link.revoked is not None:
        if now - link.revoked >= TOLD_AFTER_REVOKING:
            raise LinkGoneError
        return _turned_off(link, link.revoked), link
    whose, name = subject_of(link.subject), name_on(link)
    told = rows_told(whose)
    if not told:
        stand_in(str(whose), plan_now())
        told = rows_told(whose)
    tag = _tag(whose, name, told)
    feed = BODIES.get(tag) or _from_shelf(key, tag) or _made(whose, name, tag, now)
    BODIES.put(tag, feed)
    if SHELVED.get(key) != tag:
        shelf().set(key, feed)
        SHELVED.put(key, tag)
    return feed, link


def _tag(whose: Subject, name: str, told: Told) -> str:
    """Name a body by what it is made of."""
    return hashlib.sha256(repr((FORMAT, str(whose), name, told)).encode()).hexdigest()[:32]


def _from_shelf(key: str, tag: str) -> Feed | None:
    last = shelf().get(key)
    return last if isinstance(last, Feed) and last.tag == tag else None


def _made(whose: Subject, name: str, tag: str, now: datetime) -> Feed:
    rows = _rows(whose, now)
    return _feed(_write(whose, name, rows), tag, max(row.modified for row in rows))


def _feed(body: bytes, tag: str, modified: datetime) -> Feed:
    return Feed(body, tag, modified, gzip.compress(body, mtime=0))


def _rows(whose: Subject, now: datetime) -> list[EventRow]:
    """The latest events in order of time; the standing event if there are none."""
    events = list(events_of(whose).order_by("-start", "-uid")[:MOST_EVENTS])
    events = events[::-1] or [nothing_event(str(whose), now, languages().get(str(whose), ENGLISH))]
    return [_row(event) for event in events]


def _row(event: CalendarEvent) -> EventRow:
    return EventRow(
        uid=event.uid,
        start=event.start,
        end=event.end,
        all_day=event.all_day,
        zone=event.zone,
        title=event.title,
        place=event.place,
        notes=f"{event.changed}\n{event.notes}",
        status=event.status,
        sequence=event.sequence,
        created=event.created,
        modified=event.modified,
        free=event.kind in FREE_KINDS,
    )


def _write(whose: Subject, name: str, rows: Sequence[EventRow]) -> bytes:
    colour = COLOURS[crc32(str(whose).encode()) % len(COLOURS)]
    return write_body(calendar_name(name), rows, colour=colour)


def _turned_off(link: FeedLink, revoked: datetime) -> Feed:
    """A calendar with one event that says why there is nothing else."""
    language = languages().get(link.subject, ENGLISH)
    day = datetime.combine(revoked.astimezone(UTC).date(), time(), tzinfo=UTC)
    row = EventRow(
        uid=f"off-{link.hash[:32]}",
        start=day,
        end=day + timedelta(days=TOLD_AFTER_REVOKING.days),
        all_day=True,
        zone="UTC",
        title=word(language, "off"),
        place="",
        notes=word(language, "off-notes"),
        status="CONFIRMED",
        sequence=0,
        created=revoked,
        modified=revoked,
        free=True,
    )
    body = write_body(calendar_name(word(language, "off-name")), [row])
    return _feed(body, hashlib.sha256(body).hexdigest()[:32], revoked)
