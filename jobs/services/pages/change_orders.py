"""Reads the change orders of a job: the list with what they add up to, and one as it goes on paper."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from django.db.models import Count

from jobs import models
from jobs.services.numbers.library import library_for
from jobs.services.scope.takeoff import built_items
from jobs.services.storm.change_orders import say_line
from jobs.services.telling.speech import dollars, say_date, say_day

from .frame import JobHead, job_head, shown_plan

if TYPE_CHECKING:
    from collections.abc import Iterable

State = models.ChangeOrder.State


class OrderRow(NamedTuple):
    """One change order in the list."""

    number: int
    title: str
    state: str
    answered: str
    asked: str
    amount: str
    lines: int


@dataclass(frozen=True, slots=True)
class OrdersPage:
    """The change orders of a job; ``signed`` is what the signed ones add up to, in dollars."""

    head: JobHead
    rows: tuple[OrderRow, ...]
    signed: str


class LineRow(NamedTuple):
    """One thing a change order does."""

    pk: int
    words: str


@dataclass(frozen=True, slots=True)
class OrderPage:
    """One change order, fit to be printed and signed."""

    head: JobHead
    company: str
    phone: str
    number: int
    title: str
    scope: str
    amount: str
    state: str
    open: bool
    asked: str
    answered: str
    revision: int
    lines: tuple[LineRow, ...]
    promise: str


def read_orders(job: models.Job) -> OrdersPage:
    """Read the list, in a fixed number of queries."""
    rows = list(job.change_orders.annotate(does=Count("lines")))
    signed = [row.amount for row in rows if row.state == State.SIGNED and row.amount is not None]
    return OrdersPage(
        head=job_head(job, "changes", shown_plan()),
        rows=tuple(
            OrderRow(
                row.number,
                row.title,
                row.get_state_display(),
                _answered(row),
                say_day(row.asked_on),
                dollars(row.amount),
                row.does,
            )
            for row in rows
        ),
        signed=dollars(sum(signed, Decimal(0))) if signed else "",
    )


def read_order(order: models.ChangeOrder) -> OrderPage:
    """Read one change order."""
    job, company = order.job, models.Company.objects.first()
    lines = order.lines.select_related("activity", "zone", "item__zone")
    return OrderPage(
        head=job_head(job, "changes", shown_plan()),
        company=company.name if company else "",
        phone=company.phone if company else "",
        number=order.number,
        title=order.title,
        scope=order.scope,
        amount=dollars(order.amount),
        state=order.get_state_display(),
        open=order.state == State.ASKED,
        asked=say_date(order.asked_on),
        answered=_answered(order),
        revision=order.revision,
        lines=tuple(LineRow(line.pk, say_line(line)) for line in lines),
        promise=say_date(job.promised_on) if job.promised_on else "",
    )


def left_out_of(job: models.Job) -> Iterable[tuple[models.ScopeItem, str]]:
    """Return the items of a job that are built, each with what people call it."""
    known = library_for(job).assemblies
    for item in built_items(job):
        named = known.get(item.assembly)
        yield item, item.name or (named.name if named else item.assembly)


def _answered(order: models.ChangeOrder) -> str:
    if order.signed_on is None:
        return ""
    return f"{order.get_state_display()} by {order.signed_by}, {say_date(order.signed_on)}"
