"""Calls for utility marks that a plan needs again because digging goes on when the marks have run out.

The first call is an activity of its own; every later one is a notice worked back from the life of the
ticket before it, so that marks never lapse between two days of digging. One that is made is kept, and the
next is worked back from it.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from crews.services.hours import working_hours
from jobs import models
from jobs.services.history import record
from jobs.services.numbers.library import library_for
from jobs.services.telling.errors import SaidBefore
from jobs.services.world.row_days import stretches
from jobs.trade.errors import TradeError
from jobs.trade.notices import TOO_EARLY, Ticket, allows, ask_by, rule_for, ticket

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from collections.abc import Set as AbstractSet
    from datetime import date

    from jobs.services.history import Who
    from jobs.trade.library import NoticeRule

LOCATE = "locate-notice"
NOON = time(12)
"""When a call is taken to have been made whose hour nobody said."""
MOST_CALLS = 12
"""A job that digs longer than a dozen tickets is asked about by hand."""
TOLD = ("ask_on", "good_from", "expires_on", "needed")
"""What a plan says of a call."""


def write_notices(plan: models.Plan) -> int:
    """Let the calls not made yet be those the plan needs; return how many it needs.

    A job's next call is the same one, whatever day a plan moves it to, and so are those after it: a page that
    is open on one stays. What a plan needs no more is kept as not needed. Call inside the transaction that
    accepts the plan.
    """
    sent = models.Notice.objects.exclude(sent_on=None)
    made: dict[int, date | None] = dict(sent.order_by("sent_on").values_list("job_id", "sent_on"))
    by_job: dict[models.Job, list[models.PlanRow]] = {}
    for row in plan.rows.select_related("activity__job").order_by("start"):
        by_job.setdefault(row.activity.job, []).append(row)
    needed = [
        notice for job, rows in by_job.items() for notice in _of_job(job, rows, made.get(job.pk))
    ]
    _keep(needed)
    return len(needed)


def _keep(needed: Iterable[models.Notice]) -> None:
    """Write the calls a plan needs into those not made yet, in order; add what is missing, touch none that stays."""
    waiting: dict[int, list[models.Notice]] = {}
    rows = models.Notice.objects.select_for_update().filter(sent_on=None)
    for row in rows.order_by("-needed", "ask_on", "pk"):
        waiting.setdefault(row.job_id, []).append(row)
    missing = []
    for call in needed:
        if not waiting.get(call.job_id):
            missing.append(call)
            continue
        row = waiting[call.job_id].pop(0)
        if any(getattr(row, name) != getattr(call, name) for name in TOLD):
            for name in TOLD:
                setattr(row, name, getattr(call, name))
            row.save()
    models.Notice.objects.bulk_create(missing)
    for row in (one for rest in waiting.values() for one in rest if one.needed):
        row.needed = False
        row.save()


def _of_job(
    job: models.Job, rows: Sequence[models.PlanRow], made: date | None
) -> list[models.Notice]:
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
    if made is not None and made > first.date():
        first = datetime.combine(made, NOON, zone)
        digs = [day for day in digs if day > made]
    if not digs:
        return []
    holidays = working_hours(first.date(), max(digs) + timedelta(days=60)).holidays
    return [
        models.Notice(
            job=job,
            ask_on=again.asked.date(),
            good_from=again.good_from.replace(tzinfo=zone),
            expires_on=again.expires,
        )
        for again in renewals(first, digs, _rule(job), holidays)
    ]


def _rule(job: models.Job) -> NoticeRule:
    return rule_for(job.us_state, job.options, library_for(job).notices)


@transaction.atomic
def made(notice: models.Notice, sent_on: date, reference: str, who: Who) -> None:
    """Keep that a call was made: from when its marks are good and until when follows from the day, by the law.

    Raises
    ------
    SaidBefore
        If the same is kept already.
    """
    notice = models.Notice.objects.select_for_update(of=("self",)).get(pk=notice.pk)
    if (notice.sent_on, notice.reference) == (sent_on, reference):
        raise SaidBefore("This call is kept already")
    job, zone = notice.job, ZoneInfo(notice.job.zone)
    holidays = working_hours(sent_on, sent_on + timedelta(days=60)).holidays
    given = ticket(datetime.combine(sent_on, NOON), _rule(job), holidays)
    notice.sent_on, notice.reference = sent_on, reference
    notice.good_from, notice.expires_on = given.good_from.replace(tzinfo=zone), given.expires
    notice.save()
    after = {"made": sent_on.isoformat(), "reference": reference}
    record("marks called for again", by=who.by, at=who.now, job=job, after=after)


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
