"""Reads why a job's finish moved: the ledger from the first finish to today's, fit to be printed as a letter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.models.cause import WEATHER
from jobs.scheduling.storm.moved import RE_SEQUENCING, Ledger, Moved, Share, ledger_of
from jobs.services.causes.lose_days import DAY_SLOTS
from jobs.services.causes.moved import PROGRESS, UNDONE
from jobs.services.sky.sky_on_file import say_on_file
from jobs.services.storm.change_orders import said_in_ledger
from jobs.services.telling.speech import dollars, say_date, say_day
from jobs.services.world.losses import mask_on
from jobs.weather.lost_days import is_weather_day

from .frame import JobHead, closed_days, job_head, local, shown_plan

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

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


class WeatherDay(NamedTuple):
    """A day on which weather took at least half of the work."""

    day: str
    cause: str
    why: str
    lost: str
    sky: str
    """What was on file of it: measured, and forecast with its source and hour."""


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


def read_moved(job: models.Job, today: date) -> MovedPage:
    """Read the ledger of a job in a bounded number of queries."""
    head = job_head(job, "moved", shown_plan())
    company = models.Company.objects.first()
    found = read_ledger(job)
    ledger, plans = found or (None, ())
    agreed = _agreed(job)
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
        weather=tuple(_weather(job)),
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


def _weather(job: models.Job) -> list[WeatherDay]:
    """Working days that count as weather days: at least half of the slots lost to this yard."""
    rows = models.LostTime.objects.filter(
        taken_back_at=None, cause__in=WEATHER, crew=None, activity=None
    )
    here = [row for row in rows.order_by("first", "pk") if row.job_id in (None, job.pk)]
    found: dict[date, list[tuple[models.LostTime, int]]] = {}
    for row in here:
        for offset in range((row.last - row.first).days + 1):
            day = row.first + timedelta(days=offset)
            found.setdefault(day, []).append((row, mask_on(row, day)))
    days = []
    closed = closed_days(min(found), max(found)) if found else frozenset()
    for day, parts in sorted(found.items()):
        if day in closed:
            continue
        mask = 0
        for _, part in parts:
            mask |= part
        if is_weather_day(mask.bit_count(), len(DAY_SLOTS)):
            row = parts[0][0]
            lost = f"{mask.bit_count()} of {len(DAY_SLOTS)} parts of the day"
            days.append(
                WeatherDay(
                    say_date(day), row.get_cause_display(), row.why, lost, _sky(row, job, day)
                )
            )
    return days


def _sky(row: models.LostTime, job: models.Job, day: date) -> str:
    """Ground that dries has its rain's word for it."""
    return "" if row.dries_id else say_on_file(row, job, day)


def _days(days: int) -> str:
    sign = "+" if days > 0 else "−" if days < 0 else ""
    return f"{sign}{abs(days)} day{'' if abs(days) == 1 else 's'}"
