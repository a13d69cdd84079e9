"""Change orders: written down, worded until somebody answers, and what each does to the plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Max

from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.services.history import Who, record
from jobs.services.scope.hands import is_by_hand
from jobs.services.scope.items import new_item
from jobs.services.scope.takeoff import built_items
from jobs.services.telling.speech import say_people
from jobs.services.turns import take_turn
from jobs.trade.errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

State, Does = models.ChangeOrder.State, models.ChangeLine.Does
MOST_LINES = 30


@dataclass(frozen=True, slots=True)
class Wording:
    """What stands on the paper; ``amount`` in dollars, None where nothing was agreed."""

    title: str
    scope: str = ""
    amount: Decimal | None = None


@transaction.atomic
def ask(job: models.Job, wording: Wording, who: Who, *, uid: str = "") -> models.ChangeOrder:
    """Write a change order down; sent twice it is written once.

    Parameters
    ----------
    uid
        Minted with the form; empty for a fresh one. A page gone back to may have another: what waits for an
        answer in the very same words is the same.
    """
    take_turn()
    models.Job.objects.select_for_update().get(pk=job.pk)
    made = models.ChangeOrder.objects.filter(uid=uid).first() if uid else None
    for same in [made] if made else job.change_orders.filter(state=State.ASKED):
        if same.job_id == job.pk and _wording(same) == wording:
            return same
    last = job.change_orders.aggregate(last=Max("number"))["last"] or 0
    order = models.ChangeOrder(job=job, number=last + 1, asked_on=who.now.date())
    if uid and made is None:
        order.uid = uid
    _fill(order, wording)
    order.save()
    record("change order asked for", by=who.by, at=who.now, job=job, after=told(order))
    return order


@transaction.atomic
def reword(order: models.ChangeOrder, wording: Wording, who: Who, *, revision: int) -> None:
    """Word a change order that nobody answered yet otherwise.

    Raises
    ------
    ChangedMeanwhileError
        If it is not at the revision the editor saw.
    TradeError
        If it was answered.
    """
    order = unanswered(order, revision)
    before = told(order)
    _fill(order, wording)
    order.save()
    record("change order worded otherwise", by=who.by, at=who.now, job=order.job, before=before, after=told(order))  # fmt: skip


@transaction.atomic
def add_line(order: models.ChangeOrder, line: models.ChangeLine, who: Who) -> models.ChangeLine:
    """Say one more thing that a change order does to the plan.

    Raises
    ------
    TradeError
        If it was answered, holds too much, or what is left out cannot be.
    """
    order = unanswered(order)
    if order.lines.count() >= MOST_LINES:
        raise TradeError(
            f"a change order holds {MOST_LINES} things", remedy="write a second one beside it"
        )
    check_line(line, order)
    line.order = order
    line.save()
    record("change order does more", by=who.by, at=who.now, job=order.job, after={"order": str(order), "does": say_line(line)})  # fmt: skip
    return line


@transaction.atomic
def ask_for_item(
    order: models.ChangeOrder,
    assembly: str,
    zone: models.Zone,
    answers: Mapping[str, str],
    who: Who,
) -> models.ScopeItem:
    """Add an item that comes with a change order: it is built once that is signed.

    Raises
    ------
    TradeError
        If the change order was answered.
    """
    item = new_item(zone, assembly, answers)
    line = models.ChangeLine(does=models.ChangeLine.Does.ITEM, item=item)
    add_line(order, line, who)
    return item


@transaction.atomic
def drop_line(line: models.ChangeLine, who: Who) -> None:
    """Take one thing back that a change order nobody answered would have done."""
    order = unanswered(line.order)
    record("change order does less", by=who.by, at=who.now, job=order.job, before={"order": str(order), "does": say_line(line)})  # fmt: skip
    if line.does == Does.ITEM and line.item is not None:
        line.item.delete()
    else:
        line.delete()


def told(order: models.ChangeOrder) -> dict[str, str]:
    """Return a change order as the record keeps it."""
    facts = {
        "order": str(order),
        "state": order.state,
        "scope": order.scope,
        "amount": "" if order.amount is None else str(order.amount),
        "signed by": order.signed_by,
        "on": order.signed_on.isoformat() if order.signed_on else "",
    }
    return {key: value for key, value in facts.items() if value}


def said_in_ledger(order: models.ChangeOrder) -> str:
    """Return a change order as the ledger names it; its words stay as they were signed."""
    return f"change order {order}"[:200]


def say_line(line: models.ChangeLine) -> str:
    """Return what a line does, in words for the owner."""
    days = (
        "" if line.days is None else f"{line.days.normalize():f} day{'' if line.days == 1 else 's'}"
    )
    if line.does == Does.WORK:
        after = f", after {line.activity.name.lower()}" if line.activity else ""
        return f"{line.name}: {days} of {say_people(line.people)}, {line.zone}{after}"
    if line.does == Does.DAYS:
        return f"{line.activity}: {days} more"
    if line.does == Does.WORK_OUT:
        return f"{line.activity}: left out"
    if line.item is None:
        return line.get_does_display()
    what = line.item.name or line.item.assembly.replace("-", " ").capitalize()
    added = "added" if line.does == Does.ITEM else "left out"
    return f"{what}, {line.item.zone}: {added}"


def _wording(order: models.ChangeOrder) -> Wording:
    return Wording(order.title, order.scope, order.amount)


def _fill(order: models.ChangeOrder, wording: Wording) -> None:
    order.title, order.scope, order.amount = wording.title, wording.scope, wording.amount


def unanswered(order: models.ChangeOrder, revision: int | None = None) -> models.ChangeOrder:
    """Return a change order as it is now, locked, if nobody answered it yet.

    Raises
    ------
    ChangedMeanwhileError
        If it is not at the revision its editor saw.
    TradeError
        If it was answered.
    """
    take_turn()
    found = models.ChangeOrder.objects.select_for_update().select_related("job").get(pk=order.pk)
    if found.state != State.ASKED:
        raise TradeError(
            f"change order {found.number} was {found.state} on {found.signed_on}",
            remedy="write another one: what was answered stays as it is",
        )
    if revision is not None and found.revision != revision:
        raise ChangedMeanwhileError
    return found


def check_line(line: models.ChangeLine, order: models.ChangeOrder) -> None:
    """Refuse what cannot be done any more, or never could."""
    if line.activity is not None:
        _check_work(line.does, line.activity, order)
    if line.does == Does.ITEM_OUT and line.item is not None:
        _check_item(line.item, order)


def _check_work(does: str, work: models.Activity, order: models.ChangeOrder) -> None:
    if work.job_id != order.job_id:
        raise TradeError("that work is of another job", remedy="choose one of this job")
    if does == Does.DAYS and work.finished_at is not None:
        raise TradeError(f"{work.name} is done", remedy="add a work for what is to come")
    if does != Does.WORK_OUT:
        return
    if not is_by_hand(work) or work.part_of_id is not None:
        raise TradeError(
            f"{work.name} comes from the takeoff", remedy="leave the item out that it is of"
        )
    if work.started_at is not None:
        raise TradeError(f"{work.name} is under way", remedy="log it as done instead")


def _check_item(item: models.ScopeItem, order: models.ChangeOrder) -> None:
    if item.pk not in {one.pk for one in built_items(order.job)}:
        raise TradeError("that is not built anyway", remedy="take it out of this change order")
    works = order.job.activities.filter(key__startswith=f"{item.uid}/")
    begun = works.filter(started_at__isnull=False).first()
    if begun is not None:
        raise TradeError(f"{begun.name} has begun", remedy="change the item's answers instead")
