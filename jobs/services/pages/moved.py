"""Reads why a job's finish moved: the ledger from the first finish to today's, fit to be printed as a letter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.scheduling.storm.moved import RE_SEQUENCING, Ledger, Moved, Share, ledger_of
from jobs.services.causes.moved import PROGRESS, UNDONE
from jobs.services.storm.change_orders import said_in_ledger
from jobs.services.telling.speech import dollars, say_date, say_day

from .frame import JobHead, job_head, local, shown_plan
from .weather_days import months_of, weather_days

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from .weather_days import MonthRow, WeatherDay

SAID = {
    **dict(models.Cause.choices),
    PROGRESS: "work that went otherwise than planned",
    RE_SEQUENCING: "re-sequencing",
    UNDONE: "an earlier plan brought back",
}


class Line(NamedTuple):
    """One cause of one change, with its days and the finish after it."""

    on: str
    plan: int
    cause: str
    why: str
    days: str
    finish: str
    amount: str
    """What was agreed, where the cause is a signed change order."""


@dataclass(frozen=True, slots=True)
class MovedPage:
    """The ledger of one job; ``first`` is empty where nothing was published yet."""

    head: JobHead
    company: str
    today: str
    first: str
    promise: str
    finish: str
    days: str
    lines: tuple[Line, ...]
    agreed: str
    """What all signed change orders come to, whether they moved the finish or not."""
    causes: tuple[tuple[str, str], ...]
    weather: tuple[WeatherDay, ...]
    months: tuple[MonthRow, ...]


def read_moved(job: models.Job, today: date, allowed: Sequence[int] = ()) -> MovedPage:
    """Read the ledger of a job in a bounded number of queries.

    Parameters
    ----------
    allowed
        Days a month, January first, that the contract expects the weather to take.
    """
    head = job_head(job, "moved", shown_plan())
    company = models.Company.objects.first()
    found = read_ledger(job)
    ledger, plans = found or (None, ())
    agreed, weather = _agreed(job), weather_days(job)
    return MovedPage(
        head=head,
        company=company.name if company else "",
        today=say_date(today),
        first=say_date(ledger.first) if ledger else "",
        promise=say_date(job.promised_on) if job.promised_on else "",
        finish=say_date(ledger.today) if ledger else "",
        days=_days(ledger.days) if ledger else "",
        lines=tuple(_lines(ledger, plans, agreed)) if ledger else (),
        agreed=dollars(sum(agreed.values(), Decimal(0))) if agreed else "",
        causes=tuple((SAID.get(c, c), _days(n)) for c, n in ledger.by_cause()) if ledger else (),
        weather=weather,
        months=months_of(weather, allowed),
    )


def read_ledger(job: models.Job) -> tuple[Ledger, tuple[int, ...]] | None:
    """Return the ledger of a job with the plan of each change; None if nothing was published."""
    first = (
        job.plans.exclude(plan__published_at=None)
        .select_related("plan")
        .order_by("plan__published_at", "plan__number")
        .first()
    )
    if first is None:
        return None
    rows = list(job.finish_changes.select_related("plan").order_by("plan__number"))
    changes = [_moved(row, job) for row in rows]
    ledger = ledger_of(local(first.finish, job).date(), changes)
    return ledger, tuple(row.plan.number for row in rows)


def _moved(row: models.FinishChange, job: models.Job) -> Moved:
    shares = tuple(Share(s["cause"], s["why"], s["days"]) for s in row.shares)
    accepted = row.plan.published_at or row.created
    return Moved(local(accepted, job).date(), row.was, row.becomes, shares)


def _agreed(job: models.Job) -> dict[str, Decimal]:
    """Return the amount of each signed change order that has one, by the words the ledger has for it."""
    signed = job.change_orders.filter(state=models.ChangeOrder.State.SIGNED)
    return {said_in_ledger(order): order.amount for order in signed if order.amount is not None}


def _lines(ledger: Ledger, plans: Iterable[int], agreed: Mapping[str, Decimal]) -> list[Line]:
    """Every share with the finish after it; only the last of a change is a finish that was said."""
    lines, numbers = [], list(plans)
    numbers = [0] * (len(ledger.changes) - len(numbers)) + numbers
    for change, number in zip(ledger.changes, numbers, strict=True):
        ends = change.was
        for share in change.shares:
            ends += timedelta(days=share.days)
            cause = SAID.get(share.cause, share.cause)
            on = say_day(change.accepted)
            amount = agreed.get(share.why) if share.cause == models.Cause.CHANGE_ORDER else None
            days, finish = _days(share.days), say_day(ends)
            lines.append(Line(on, number, cause, share.why, days, finish, dollars(amount)))
    return lines


def _days(days: int) -> str:
    sign = "+" if days > 0 else "−" if days < 0 else ""
    return f"{sign}{abs(days)} day{'' if abs(days) == 1 else 's'}"
