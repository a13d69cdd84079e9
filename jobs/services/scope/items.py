"""What is to be built, changed: add, change or take out an item; the activities follow at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Max

from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.services.history import record
from jobs.services.turns import take_turn
from jobs.trade.errors import TradeError

from .takeoff import expand_job

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from jobs.trade.scope import Expansion


@transaction.atomic
def add_item(
    assembly: str,
    zone: models.Zone,
    answers: Mapping[str, str],
    *,
    by: str,
    now: datetime,
    uid: str = "",
) -> models.ScopeItem:
    """Add an item and expand the job; nothing is stored if it cannot be built. Sent twice it is added once.

    Parameters
    ----------
    uid
        Minted with the form; empty for a fresh one. With other answers, from a page gone back to, it is another item.

    Raises
    ------
    TradeError
        If what is then to be built contradicts itself.
    """
    take_turn()
    job = models.Job.objects.select_for_update().get(pk=zone.job_id)
    made = models.ScopeItem.objects.filter(uid=uid).first() if uid else None
    if made is not None and (made.zone, made.assembly, made.answers) == (
        zone,
        assembly,
        dict(answers),
    ):
        return made
    item = new_item(zone, assembly, answers, uid="" if made else uid)
    expand_job(job, now=now)
    record("item added", by=by, at=now, job=job, after=told(item))
    return item


def new_item(
    zone: models.Zone, assembly: str, answers: Mapping[str, str], *, uid: str = ""
) -> models.ScopeItem:
    """Store an item as the last of its job, without expanding; under a fresh uid if none is given."""
    last = zone.job.items.aggregate(last=Max("order"))["last"] or 0
    item = models.ScopeItem(
        job=zone.job, assembly=assembly, zone=zone, answers=dict(answers), order=last + 1
    )
    item.uid = uid or item.uid
    item.save()
    return item


@transaction.atomic
def change_item(
    item: models.ScopeItem,
    answers: Mapping[str, str],
    *,
    revision: int,
    by: str,
    now: datetime,
) -> Expansion:
    """Change an item's answers and expand the job again.

    Raises
    ------
    ChangedMeanwhileError
        If the item is not at the revision the editor saw.
    TradeError
        If what is then to be built contradicts itself.
    """
    take_turn()
    item = (
        models.ScopeItem.objects.select_for_update().select_related("job", "zone").get(pk=item.pk)
    )
    if item.revision != revision:
        raise ChangedMeanwhileError
    before = told(item)
    item.answers = dict(answers)
    item.save()
    expansion = expand_job(item.job, now=now)
    record("item changed", by=by, at=now, job=item.job, before=before, after=told(item))
    return expansion


@transaction.atomic
def remove_item(item: models.ScopeItem, *, by: str, now: datetime) -> None:
    """Take an item out; its work that was never begun goes with it.

    Raises
    ------
    TradeError
        If a change order speaks of it: what is signed, or lies with the owner, stays on its paper.
    """
    job, before = item.job, told(item)
    line = item.change_lines.select_related("order").first()
    if line is not None:
        raise TradeError(
            f"change order {line.order.number} speaks of it",
            remedy="take it out of that one, or write one that leaves it out",
        )
    item.delete()
    expand_job(job, now=now)
    record("item removed", by=by, at=now, job=job, before=before)


def told(item: models.ScopeItem) -> dict[str, object]:
    """Return an item as the record keeps it."""
    return {"what": item.assembly, "where": item.zone.name, **item.answers}
