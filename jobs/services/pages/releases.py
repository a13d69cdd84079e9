"""Reads the releases of one pour, and what holds without them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.services.numbers.library import library_for
from jobs.services.numbers.library_words import span_words
from jobs.services.scope.releases import released_by, releases_of, say_hours, seen
from jobs.services.telling.speech import say_day
from jobs.trade.releases import SHORTENS

from .frame import JobHead, job_head, shown_plan

if TYPE_CHECKING:
    from jobs import models


class ReleaseRow(NamedTuple):
    """One release, with who entered it."""

    pk: int
    what: str
    by: str
    note: str
    entered: str


@dataclass(frozen=True, slots=True)
class ReleasesPage:
    """The releases of one pour; ``least`` is what is published for each thing without one."""

    head: JobHead
    uid: str
    name: str
    rows: tuple[ReleaseRow, ...]
    least: tuple[tuple[str, str], ...]
    seen: str


def read_releases(row: models.Activity) -> ReleasesPage:
    """Read the page of one pour's releases."""
    rows = releases_of(row)
    waits = library_for(row.job).waits
    used = {link.wait for link in row.links_out.exclude(wait="")}
    used |= {hold["wait"] for hold in row.detail.get("holds", [])}
    named = {key for keys in SHORTENS.values() for key in keys}
    return ReleasesPage(
        head=job_head(row.job, "activities", shown_plan()),
        uid=row.uid,
        name=row.name,
        rows=tuple(_row(one) for one in rows),
        least=tuple(
            (kind.name, span_words(kind.least, kind.unit, kind.clock))
            for key, kind in waits.items()
            if key in used & named
        ),
        seen=seen(rows),
    )


def _row(one: models.Release) -> ReleaseRow:
    what = f"{one.get_allows_display()} {say_hours(one.hours)} after the pour"
    return ReleaseRow(
        one.pk,
        f"{what[0].upper()}{what[1:]}",
        released_by(one),
        one.note,
        f"entered by {one.by}, {say_day(one.modified.date())}",
    )
