"""Calls for utility marks that a plan needs again because digging goes on when the marks have run out.

The first call is an activity of its own; every later one is a notice worked back from the life of the
ticket before it, so that marks never lapse between two days of digging.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from crews.services.hours import working_hours
from jobs import models
from jobs.services.numbers.library import library_for
from jobs.services.world.row_days import stretches
from jobs.trade.errors import TradeError
from jobs.trade.notices import TOO_EARLY, Ticket, allows, ask_by, rule_of, ticket

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from collections.abc import Set as AbstractSet
    from datetime import date

    from jobs.trade.library import NoticeRule

LOCATE = "locate-notice"
MOST_CALLS = 12
"""A job that digs longer than a dozen tickets is asked about by hand."""


def write_notices(plan: models.Plan) -> int:
    """Replace the calls not made yet by those the plan needs; return how many it needs.

    Call inside the transaction that accepts the plan.
    """
    models.Notice.objects.filter(kind=models.Notice.Kind.LOCATE, sent_on=None).delete()
    by_job: dict[models.Job, list[models.PlanRow]] = {}
    for row in plan.rows.select_related("activity__job").order_by("start"):
        by_job.setdefault(row.activity.job, []).append(row)
    needed = [notice for job, rows in by_job.items() for notice in _of_job(job, rows)]
    models.Notice.objects.bulk_create(needed)
    return len(needed)


def _of_job(job: models.Job, rows: Sequence[models.PlanRow]) -> list[models.Notice]:
    zone, library = ZoneInfo(job.zone), library_for(job)
    calls = [row.finish.astimezone(zone) for row in rows if row.activity.template == LOCATE]
    digs = [
        stretch.day
        for row in rows
        if (known := library.templates.get(row.activity.template)) and known.digs
        for stretch in stretches(row)
    ]
    if not calls or not digs:
        return []
    first = min(calls)
    holidays = working_hours(first.date(), max(digs) + timedelta(days=60)).holidays
    rule = rule_of(job.us_state, library.notices)
    return [
        models.Notice(
            job=job,
            kind=models.Notice.Kind.LOCATE,
            ask_on=again.asked.date(),
            good_from=again.good_from.replace(tzinfo=zone),
            expires_on=again.expires,
        )
        for again in renewals(first, digs, rule, holidays)
    ]


def renewals(
    first: datetime, digs: Iterable[date], rule: NoticeRule, holidays: AbstractSet[date]
) -> list[Ticket]:
    """Return the calls after the first one that keep marks good on every day of digging.

    A first call made longer ahead than the law lets it be is made again, as late as still will do.

    Parameters
    ----------
    first
        Local instant of the first call.
    digs
        Days on which ground is broken.
    """
    days = sorted(digs)
    last = days[-1]
    held = ticket(first.replace(tzinfo=None), rule, holidays)
    calls: list[Ticket] = []
    if (again := _in_time(days[0], held, rule, holidays)) is not None:
        held = again
        calls.append(held)
    while held.expires is not None and held.renew_by is not None and last > held.expires:
        if len(calls) == MOST_CALLS:
            break
        asked = max(held.renew_by, held.asked.date() + timedelta(days=1))
        held = ticket(
            held.asked.replace(year=asked.year, month=asked.month, day=asked.day), rule, holidays
        )
        calls.append(held)
    return calls


def _in_time(
    dig: date, held: Ticket, rule: NoticeRule, holidays: AbstractSet[date]
) -> Ticket | None:
    """The later call for a dig that the first is too early for; None if it is not, or no day will do.

    After weeks of closed days no call is both late enough and early enough: the first is kept, and the notice
    centre is to be asked.
    """
    if allows(dig, held) != TOO_EARLY:
        return None
    try:
        day = ask_by(dig, rule, holidays)
    except TradeError:
        return None
    return ticket(datetime.combine(day, held.asked.time()), rule, holidays)
