"""A job deleted that never began; the owner of one that is over forgotten, its figures kept."""

from __future__ import annotations

import re
from functools import partial
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import Q

from crews.models import CalendarEvent, FeedLink
from crews.services.links import revoke
from crews.services.nothing import fill_feeds
from crews.services.setup import ChangedMeanwhileError
from crews.services.today import wall_now
from jobs import models
from jobs.services.day.photos import path_of
from jobs.services.history import record
from jobs.services.turns import take_turn

from .stage import OVER

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from django.db.models import QuerySet

    from jobs.services.history import Who

DELETE, FORGET = "delete", "forget"
DELETED, FORGOTTEN = "job deleted", "owner forgotten"
HIDDEN = "(forgotten)"
NAMING = ("job made", "job loaded", "yard changed")
"""Lines of the record that hold names and addresses, older ones as well: only that it was done stays."""
TYPED = ("note", "who", "why", "scope")
"""Facts of the record that hold what somebody typed."""


def way_of(job: models.Job) -> str:
    """Return what may be done with a job: ``delete``, ``forget``, or nothing while it is open."""
    begun = job.activities.filter(started_at__isnull=False).exists()
    if job.state == models.Job.State.BID and not begun:
        return DELETE
    return FORGET if job.state in OVER else ""


@transaction.atomic
def delete_job(job: models.Job, who: Who, *, revision: int) -> None:
    """Delete a job that never began with all that hangs on it; the record keeps that there was one.

    Raises
    ------
    ChangedMeanwhileError
        If the job is not at the revision the editor saw, or may no longer be deleted.
    """
    job = _locked(job, revision, DELETE)
    works = job.activities.filter(retired=False).count()
    transaction.on_commit(partial(_unlink, _files(job)))
    models.HistoryEntry.objects.filter(job=job).delete()
    _hide_elsewhere(job)
    _end_links(job)
    FeedLink.objects.filter(subject=_subject(job)).delete()
    job.delete()
    fill_feeds(who.now)
    record(DELETED, by=who.by, at=who.now, after={"works": works})


@transaction.atomic
def forget_owner(job: models.Job, who: Who, *, revision: int) -> None:
    """Blank name, address, place on the map, way in and all that was typed about people of a job.

    Durations, quantities, dates and what was learned stay. Secret links end, entries in calendars go.

    Raises
    ------
    ChangedMeanwhileError
        If the job is not at the revision the editor saw, or may no longer be forgotten.
    """
    job = _locked(job, revision, FORGET)
    _hide_elsewhere(job)
    _hide_within(job)
    _end_links(job)
    job.name, job.slug = f"Yard {job.pk}", f"yard-{job.pk}"
    job.address = job.access_notes = ""
    job.latitude = job.longitude = None
    job.save()
    models.GateCode.objects.filter(job=job).delete()
    job.day_log.update(note="", who="")
    job.no_work_days.update(why="")
    job.decisions.update(answer="")
    job.notices.update(reference="")
    job.change_orders.update(scope="")
    job.change_orders.exclude(signed_by="").update(signed_by=HIDDEN)
    fill_feeds(who.now)
    record(FORGOTTEN, by=who.by, at=who.now, job=job)


def _locked(job: models.Job, revision: int, way: str) -> models.Job:
    take_turn()
    job = models.Job.objects.select_for_update().get(pk=job.pk)
    if job.revision != revision or way_of(job) != way:
        raise ChangedMeanwhileError
    return job


def _subject(job: models.Job) -> str:
    return f"homeowner:{job.uid}"


def _end_links(job: models.Job) -> None:
    """End the homeowner's links, and take the job's entries out of all calendars."""
    links = FeedLink.objects.filter(subject=_subject(job))
    for link in links:
        revoke(link, wall_now())
    links.update(label="", person="")
    CalendarEvent.objects.filter(Q(job=job.uid) | Q(subject=_subject(job))).delete()


def _files(job: models.Job) -> list[Path]:
    photos = models.Photo.objects.filter(line__job=job, gone=False).select_related("line__job")
    return [path_of(photo, small=small) for photo in photos for small in (False, True)]


def _unlink(files: Sequence[Path]) -> None:
    for file in files:
        file.unlink(missing_ok=True)


def _hide_within(job: models.Job) -> None:
    """Hide names, and what was typed about people, in rows of a job."""
    people = {*job.change_orders.values_list("signed_by", flat=True)}
    people |= {*job.day_log.values_list("who", flat=True)}
    words = _pattern([*_names(job), *people])
    entries = models.HistoryEntry.objects.filter(job=job)
    entries.filter(what__in=NAMING).update(before=None, after=None)
    _hide(entries, ("before", "after"), words, TYPED)
    _hide(models.Change.objects.filter(job=job), ("why", "before", "after"), words)
    _hide(models.LostTime.objects.filter(job=job), ("why",), words)
    _hide(models.FinishChange.objects.filter(job=job), ("shares",), words)


def _hide_elsewhere(job: models.Job) -> None:
    """Hide the names of a job in what was sent, asked and kept of several jobs."""
    words = _pattern(_names(job))
    _hide(models.HistoryEntry.objects.filter(job=None), ("before", "after"), words)
    _hide(models.Message.objects.all(), ("subject", "text"), words)
    _hide(models.Solve.objects.all(), ("question", "answer", "reason"), words)
    _hide(models.Answer.objects.all(), ("account",), words)


def _names(job: models.Job) -> list[str]:
    return [job.name, job.slug, job.address, job.access_notes]


def _pattern(words: Iterable[str]) -> re.Pattern[str]:
    """Match any of some words as a whole, the longest first; nothing if there are none."""
    known = sorted({word for word in words if word.strip()}, key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, known))})(?!\w)" if known else r"(?!)")


def _hide(
    rows: QuerySet[Any], fields: Sequence[str], words: re.Pattern[str], typed: Sequence[str] = ()
) -> None:
    """Rewrite those rows whose fields hold any of some words."""
    changed = []
    for row in rows:
        told = {name: hidden(getattr(row, name), words, typed) for name in fields}
        if any(getattr(row, name) != value for name, value in told.items()):
            for name, value in told.items():
                setattr(row, name, value)
            changed.append(row)
    if changed:
        rows.model._default_manager.bulk_update(changed, list(fields))


def hidden(kept: Any, words: re.Pattern[str], typed: Sequence[str] = ()) -> Any:
    """Return a JSON value without some words, without its ``typed`` facts, and without whom it went to."""
    if isinstance(kept, str):
        return words.sub(HIDDEN, kept)
    if isinstance(kept, list):
        return [hidden(one, words, typed) for one in kept]
    if not isinstance(kept, dict):
        return kept
    told = {
        key: HIDDEN if key in typed and value else hidden(value, words, typed)
        for key, value in kept.items()
    }
    return told | {"to": HIDDEN} if told != kept and "to" in kept else told
