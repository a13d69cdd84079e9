"""Reads what can be done to one activity by hand, and what of a job was."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from jobs.services.by_hand.split import why_whole
from jobs.services.by_hand.ties import sentence
from jobs.services.scope.hands import CHAINED, is_by_hand
from jobs.services.scope.releases import release_for, releases_by_pour

from .frame import JobHead, job_head, shown_plan
from .ties_told import how

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobs import models


class LinkRow(NamedTuple):
    """A link of an activity: both ends, how, why, and what can be done with it."""

    pk: int
    words: str
    how: str
    why: str
    kind: str
    reason: str
    by: str


@dataclass(frozen=True, slots=True)
class HandPage:
    """One activity, to be changed by hand."""

    head: JobHead
    uid: str
    name: str
    revision: int
    own: bool
    part: bool
    whole: str
    links: tuple[LinkRow, ...]


class OwnWork(NamedTuple):
    """A work of one's own, or a part, in a list."""

    uid: str
    name: str
    what: str


def read_hand_page(job: models.Job, row: models.Activity) -> HandPage:
    """Read the page of one activity."""
    links = job.links.filter(before=row) | job.links.filter(after=row)
    found = list(
        links.filter(before__retired=False, after__retired=False).select_related("before", "after")
    )
    releases = releases_by_pour({link.before_id for link in found})
    return HandPage(
        head=job_head(job, "activities", shown_plan()),
        uid=row.uid,
        name=row.name,
        revision=row.revision,
        own=is_by_hand(row) and row.part_of_id is None,
        part=row.part_of_id is not None and not row.extra,
        whole=why_whole(row),
        links=tuple(_link(link, releases) for link in found),
    )


def read_by_hand(job: models.Job) -> tuple[tuple[OwnWork, ...], tuple[LinkRow, ...]]:
    """Read all that was done by hand in a job: works, pins, links and lifted rules; two queries."""
    works = []
    for row in job.activities.filter(retired=False):
        if is_by_hand(row):
            what = row.get_extra_display() or ("a part" if row.part_of_id else "your own")
            works.append(OwnWork(row.uid, row.name, what))
        elif row.not_before or row.not_after or row.only_crew_id or row.hired:
            works.append(OwnWork(row.uid, row.name, "pinned"))
    links = job.links.filter(rule="") | job.links.filter(lifted=True)
    found = links.filter(before__retired=False, after__retired=False)
    return tuple(works), tuple(_link(link, {}) for link in found.select_related("before", "after"))


def _link(link: models.Link, releases: Mapping[int, Sequence[models.Release]]) -> LinkRow:
    kind = "lifted" if link.lifted else "hand" if not link.rule else "rule"
    if link.rule in CHAINED.values():
        kind = "split"
    return LinkRow(
        link.pk,
        f"{link.after.name}, after {link.before.name[:1].lower()}{link.before.name[1:]}",
        how(link, release_for(releases.get(link.before_id, ()), link.wait)),
        sentence(link),
        kind,
        link.reason,
        link.by,
    )
