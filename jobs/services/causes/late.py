"""What else goes wrong: a machine down, people out, a delivery or a decision late. Each writes its own row.

Beside it a ``Change`` keeps how it stood before, so that its share in a moved date can be told and it can be
taken back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from crews.models import TimeOff
from crews.services.setup import taken_off
from jobs import clock, models
from jobs.services.history import keep_change, record
from jobs.services.telling.errors import SaidBefore
from jobs.services.telling.speech import say_date, say_span
from jobs.services.turns import take_turn

from .put import DECISION, DELIVERY, TIME_OFF, put

if TYPE_CHECKING:
    from datetime import date, datetime

    from crews.models import Crew, CrewMember, Machine


@transaction.atomic
def out(
    subject: Machine | Crew | CrewMember,
    first: date,
    last: date,
    *,
    why: str,
    by: str,
    now: datetime,
) -> models.Change:
    """Say that a machine, a crew or one of its people is out for some days, both included.

    Raises
    ------
    SaidBefore
        If they are out on these days already, for the same reason.
    """
    take_turn()
    kind = subject._meta.model_name or ""
    field = "member" if kind == "crewmember" else kind
    if taken_off(first, last, why[:120], {field: subject.pk}) is not None:
        raise SaidBefore(f"{subject} is out on these days already")
    row = TimeOff.objects.create(first=first, last=last, why=why[:120], **{field: subject})
    facts = {
        "first": first.isoformat(),
        "last": last.isoformat(),
        "why": row.why,
        f"{field}_id": subject.pk,
    }
    cause = models.Cause.MACHINE if field == "machine" else models.Cause.PEOPLE
    with clock.telling_on(clock.EVER):
        told = f"{subject} out {say_span(first, last)}"
    change = models.Change(cause=cause, table=TIME_OFF, row=row.pk, before=None, after=facts)
    return _keep(change, first, f"{told}: {why}" if why else told, (by, now))


@transaction.atomic
def come_later(
    row: models.Delivery | models.Decision, day: date, *, why: str, by: str, now: datetime
) -> models.Change:
    """Say that a delivery cannot come, or a decision will not be made, before a day.

    Raises
    ------
    SaidBefore
        If that is the day that stands.
    """
    take_turn()
    row = type(row).objects.select_for_update().get(pk=row.pk)
    if day == (row.earliest if isinstance(row, models.Delivery) else row.expected_on):
        raise SaidBefore(f"{row.name}: that day stands already")
    if isinstance(row, models.Delivery):
        before, table, cause = row.earliest, DELIVERY, models.Cause.DELIVERY
        told = f"{row.name} not before {say_date(day)}"
    else:
        before, table, cause = row.expected_on, DECISION, models.Cause.DECISION
        told = f"{row.name} not decided before {say_date(day)}"
    was = before.isoformat() if before else None
    change = models.Change(
        cause=cause, table=table, row=row.pk, job=row.job, before=was, after=day.isoformat()
    )
    put(change, change.after, now)
    first = min(before, day) if before else day
    return _keep(change, first, f"{told}: {why}" if why else told, (by, now))


@transaction.atomic
def take_back_change(change: models.Change, *, by: str, now: datetime) -> None:
    """Let it stand as before; only what no accepted plan is tied to."""
    put(change, change.before, now)
    record("taken back", by=by, at=now, job=change.job, before={"said": change.why})
    change.delete()


def _keep(
    change: models.Change, first: date, told: str, account: tuple[str, datetime]
) -> models.Change:
    change.first, change.why = first, told[:200]
    change.by, change.at = account
    return keep_change(change)
