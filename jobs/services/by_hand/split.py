"""A work in parts, one after the other, and parts put together again."""

from __future__ import annotations

from django.db import transaction

from jobs import models
from jobs.models.job import new_uid
from jobs.services.history import Who, record
from jobs.services.scope.hands import HAND, OWN, is_by_hand, parts_by_root, whole_of
from jobs.services.scope.takeoff import expand_job
from jobs.trade.errors import TradeError

from .works import at_revision, told

SMALLEST_SHARE = 5


@transaction.atomic
def split(row: models.Activity, share: int, who: Who, *, revision: int) -> models.Activity:
    """Split a work in two: ``share`` percent of it stay first, the rest is a part of its own.

    Raises
    ------
    ChangedMeanwhileError
        If it is not at the revision the editor saw.
    TradeError
        If it cannot be split.
    """
    row = at_revision(row, revision)
    reason = why_whole(row)
    if reason:
        raise TradeError(reason, remedy="leave it whole")
    if is_by_hand(row) and row.part_of_id is None:
        row.detail = row.detail | {OWN: whole_of(row)}
    first = round(row.share * share / 100)
    if min(first, row.share - first) < SMALLEST_SHARE:
        raise TradeError(
            "a part would be less than a twentieth of the work", remedy="split it more evenly"
        )
    root = row.part_of or row
    later = _later(row, root)
    uid = new_uid()
    values = {f: getattr(row, f) for f in ("job", "name", "template", "zone", "skill", "unit")}
    values |= {f: getattr(row, f) for f in ("quantity", "days_low", "days", "days_high")}
    values |= {f: getattr(row, f) for f in ("people", "least", "material", "order")}
    values |= {f: getattr(row, f) for f in ("only_crew", "hired")}
    number = row.detail.get("part", 1) + 1
    part = models.Activity(
        uid=uid, key=f"{HAND}{uid}", part_of=root, share=row.share - first, **values
    )
    part.detail = row.detail | {"part": number}
    part.save()
    for other in later:
        other.detail = other.detail | {"part": other.detail["part"] + 1}
        other.save()
    row.share = first
    row.save()
    expand_job(row.job, now=who.now)
    record("work split", by=who.by, at=who.now, job=row.job, after=told(row))
    return part


@transaction.atomic
def join(part: models.Activity, who: Who) -> models.Activity:
    """Put a part back to the one before it.

    Raises
    ------
    TradeError
        If it is no part, or was begun.
    """
    if part.part_of is None or part.extra:
        raise TradeError(f"{part.name} is no part of anything", remedy="look at it once more")
    root = part.part_of
    if part.started_at is not None or root.finished_at is not None:
        raise TradeError(f"{part.name} is under way", remedy="leave the parts as they are")
    parts = [root, *parts_by_root(root.parts.filter(extra=""))[root.pk]]
    before = parts[[row.pk for row in parts].index(part.pk) - 1]
    before.share += part.share
    before.save()
    if models.PlanRow.objects.filter(activity=part).exists():
        part.part_of, part.retired, part.share = None, True, 100
        part.save()
    else:
        part.delete()
    expand_job(root.job, now=who.now)
    record("parts joined", by=who.by, at=who.now, job=root.job, after=told(before))
    return before


def why_whole(row: models.Activity) -> str:
    """Return why a work cannot be split, empty if it can."""
    if row.started_at is not None:
        return f"{row.name} is under way"
    if row.extra:
        return f"{row.name} came on top of the work"
    if row.detail.get("one_go"):
        return f"{row.name} is done in one go"
    if row.detail.get("request") or row.detail.get("outside"):
        return f"{row.name} is not done by a crew of ours"
    return ""


def _later(row: models.Activity, root: models.Activity) -> list[models.Activity]:
    mine = row.detail.get("part", 1)
    return [part for part in root.parts.all() if part.detail.get("part", 1) > mine]
