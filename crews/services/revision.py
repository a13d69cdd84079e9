"""What a feed is asked for many times a day, cheaply: whose link it is, and whether rows changed.

Both questions are asked through statements that are put together once: putting them together takes
longer than answering them.
"""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

from django.db import connection
from django.db.models import Count, Max, Subquery, Sum, Value

from crews.models import FeedLink

from .subjects import events_of, with_names

if TYPE_CHECKING:
    from .subjects import Subject

Statement = tuple[str, tuple[Any, ...]]
Told = tuple[object, ...]
NO_HASH = "no hash of any token"
MOMENTS = ("created", "modified", "last_read", "revoked")


def named_link(hashed: str) -> Any | None:
    """Return the link with a hash, with what ``name_on`` needs, in one query; None if none has it."""
    statement, parameters = _link_statement()
    filled = [hashed if value == NO_HASH else value for value in parameters]
    with connection.cursor() as cursor:
        cursor.execute(statement, filled)
        row = cursor.fetchone()
    if row is None:
        return None
    columns = [field.attname for field in FeedLink._meta.concrete_fields]
    link: Any = FeedLink.from_db(connection.alias, columns, row[: len(columns)])
    link.crew_name, link.machine_name, link.person_name = row[len(columns) :]
    for name in MOMENTS:
        setattr(link, name, _moment(getattr(link, name)))
    return link


def _moment(value: datetime | None) -> datetime | None:
    """SQLite keeps instants in UTC without saying so; asked past the model it gives them so."""
    return value.replace(tzinfo=UTC) if value is not None and value.tzinfo is None else value


def rows_told(whose: Subject) -> Told:
    """Return a few figures that differ whenever any event of a feed does, in one query.

    How many rows there are, the newest row, the newest change, and the sum of all sequences: every
    visible change raises a sequence and a stamp (``events.change``), and a row that comes or goes
    changes the count or the newest. The random UID of the last one tells rows of a restored database apart. Nothing if
    the feed has no row.
    """
    statement, parameters = _told_statement(whose)
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        _, count, *figures = cursor.fetchone()
    return (count, *figures) if count else ()


@cache
def _link_statement() -> Statement:
    statement: Statement = with_names(
        FeedLink.objects.filter(hash=NO_HASH).order_by()
    ).query.sql_with_params()
    return statement


@lru_cache(maxsize=2000)
def _told_statement(whose: Subject) -> Statement:
    rows = events_of(whose)
    one = Subquery(rows.order_by("-start", "-uid").values("uid")[:1])
    figures = (
        rows.order_by()
        .values(of=Value(1))
        .annotate(
            rows=Count("pk"), newest=Max("pk"), changed=Max("modified"), raised=Sum("sequence")
        )
        .annotate(one=one)
    )
    statement: Statement = figures.query.sql_with_params()
    return statement
