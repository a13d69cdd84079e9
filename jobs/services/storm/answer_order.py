"""A change order answered: signed, it is in the plan's way; declined, it changes nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from jobs import models
from jobs.services.by_hand.ties import HandLink, tie
from jobs.services.by_hand.works import HandWork, add_work
from jobs.services.causes.put import CHANGE_ORDER, put
from jobs.services.history import Who, record
from jobs.services.scope.extras import more
from jobs.trade.errors import TradeError

from .change_orders import Does, State, check_line, said_in_ledger, told, unanswered

if TYPE_CHECKING:
    from datetime import date


@dataclass(frozen=True, slots=True)
class Signature:
    """Who answered for the owner, and on which day."""

    by: str
    on: date


@transaction.atomic
def sign(
    order: models.ChangeOrder, signature: Signature, who: Who, *, revision: int
) -> models.Change | None:
    """Let a change order hold: what it does is to be planned from now on, and phones learn later.

    Returns
    -------
    Change or None
        Why the plan changes; None where only words or money change.

    Raises
    ------
    ChangedMeanwhileError
        If it is not at the revision the editor saw: nobody signs words that changed.
    TradeError
        If it was answered, nobody signed, or what it does can no longer be done.
    """
    order = unanswered(order, revision)
    lines = list(order.lines.select_related("activity", "zone", "item"))
    for line in lines:
        check_line(line, order)
    _answer(order, State.SIGNED, signature)
    for line in lines:
        if line.made_id is None:
            _make(line, order, who)
    record("change order signed", by=who.by, at=who.now, job=order.job, before={"state": State.ASKED.value}, after=told(order))  # fmt: skip
    if not lines:
        return None
    change = models.Change.objects.create(
        first=signature.on,
        cause=models.Cause.CHANGE_ORDER,
        why=said_in_ledger(order),
        job=order.job,
        table=CHANGE_ORDER,
        row=order.pk,
        before=State.ASKED.value,
        after=State.SIGNED.value,
        by=who.by,
        at=who.now,
    )
    put(change, State.SIGNED.value, who.now)
    return change


@transaction.atomic
def decline(
    order: models.ChangeOrder, signature: Signature, who: Who, *, revision: int
) -> models.ChangeOrder:
    """Keep that the owner does not want it; the plan stays as it is.

    Raises
    ------
    ChangedMeanwhileError, TradeError
        As for signing.
    """
    order = unanswered(order, revision)
    _answer(order, State.DECLINED, signature)
    record("change order declined", by=who.by, at=who.now, job=order.job, before={"state": State.ASKED.value}, after=told(order))  # fmt: skip
    return order


def _answer(order: models.ChangeOrder, state: str, signature: Signature) -> None:
    if not signature.by.strip():
        raise TradeError("nobody answered it", remedy="write the name of who did")
    if signature.on < order.asked_on:
        raise TradeError("it was answered before it was asked", remedy="look at the day once more")
    order.state, order.signed_by, order.signed_on = state, signature.by.strip(), signature.on
    order.save()


def _make(line: models.ChangeLine, order: models.ChangeOrder, who: Who) -> None:
    """Write the work that a line adds."""
    if line.does == Does.DAYS and line.activity is not None and line.days is not None:
        line.made = more(line.activity, line.days)
    elif line.does == Does.WORK and line.zone is not None and line.days is not None:
        work = HandWork(line.name, line.zone, line.skill, line.days, line.people or 1)
        line.made = add_work(order.job, work, who)
        if line.activity is not None:
            link = HandLink(
                line.activity, line.made, "finish-to-start", why=f"change order {order.number}"
            )
            tie(link, who)
    line.save()
