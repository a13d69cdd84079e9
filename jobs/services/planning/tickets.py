"""Calls for utility marks that a plan needs again because digging goes on when the marks have run out.

The first call is an activity of its own; every later one is a notice worked back from the life of the
ticket before it, so that marks never lapse between two days of digging.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from crews.services.hours import working_hours
from jobs import models
from jobs.services.numbers.library import library_for
from jobs.trade.notices import Ticket, rule_of, ticket

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from collections.abc import Set as AbstractSet
    from datetime import date, datetime

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
        row.start.astimezone(zone).date()
        for row in rows
        if (known := library.templates.get(row.activity.template)) and known.digs
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

    Parameters
    ----------
    first
        Local instant of the first call.
    digs
        Days on which ground is broken.
    """
    last = max(digs)
    held = ticket(first.replace(tzinfo=None), rule, holidays)
    calls: list[Ticket] = []
    while held.expires is not None and held.renew_by is not None and last > held.expires:
        if len(calls) == MOST_CALLS:
            break
        asked = max(held.renew_by, held.asked.date() + timedelta(days=1))
        held = ticket(
            held.asked.replace(year=asked.year, month=asked.month, day=asked.day), rule, holidays
        )
        calls.append(held)
    return calls
