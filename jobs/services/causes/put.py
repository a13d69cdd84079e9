"""What a ``Change`` is about, put to how it stood before, or to what was said: the way there and the way back."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from crews.models import Crew, Machine, TimeOff
from jobs import models
from jobs.services.scope.takeoff import expand_job

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

TIME_OFF, DELIVERY, DECISION = "time-off", "delivery", "decision"
CHANGE_ORDER, WORKS, JOB = "change-order", "works", "job"
CREW_GONE, MACHINE_GONE = "crew-gone", "machine-gone"
STANDS = (CHANGE_ORDER, WORKS, JOB, CREW_GONE, MACHINE_GONE)
"""What was signed, failed or agreed, and who left: undoing a plan does not unsay it."""
EXPANDED = (CHANGE_ORDER, WORKS)
DAYS = frozenset({"paused_from", "paused_until", "promised_on", "starts_on"})
Does = models.ChangeLine.Does


def put(change: models.Change, value: Any, now: datetime) -> None:
    """Give what a change is about a value, now; a job whose works come or go by it is expanded again.

    Time off holds its own facts, taken away it is None. A delivery and a decision have a day, a crew the
    day from which it is gone, a machine its units that are gone with theirs, a job
    those of its fields that changed, a change order its state. Works that came of something stand
    where the value names them, and are put by where it is None.
    """
    _PUT[change.table](change, value)
    if change.table in EXPANDED and change.job is not None:
        expand_job(change.job, now=now)


def _put_late(change: models.Change, value: Any) -> None:
    if change.table == DELIVERY:
        for delivery in models.Delivery.objects.filter(pk=change.row):
            delivery.earliest = _day(value)
            delivery.save(update_fields=["earliest"])
        return
    for decision in models.Decision.objects.filter(pk=change.row):
        decision.expected_on = _day(value)
        decision.save(update_fields=["expected_on"])


def _put_job(change: models.Change, value: Any) -> None:
    put_job(change.row, value)


def put_job(pk: int, values: dict[str, Any]) -> None:
    """Set those fields of a job that are named, dates as ISO text."""
    for job in models.Job.objects.filter(pk=pk):
        for name, value in values.items():
            setattr(job, name, _day(value) if name in DAYS else value)
        job.save(update_fields=list(values))


def _put_works(change: models.Change, value: Any) -> None:
    """Let works that came of something be planned, or put them by."""
    _stand((change.after or {}).get("works", []), stand=value is not None)


def _put_order(change: models.Change, value: Any) -> None:
    """Let what a signed change order does hold; what one that is not signed would do, not."""
    for order in models.ChangeOrder.objects.filter(pk=change.row):
        order.state = value
        order.save(update_fields=["state"])
        signed = value == models.ChangeOrder.State.SIGNED
        lines = order.lines.all()
        _stand([line.made_id for line in lines], stand=signed)
        out = [line.activity_id for line in lines if line.does == Does.WORK_OUT]
        _stand(out, stand=not signed)


def _stand(ids: Sequence[int | None], *, stand: bool) -> None:
    for row in models.Activity.objects.filter(pk__in=filter(None, ids), started_at=None):
        row.retired = not stand
        row.save(update_fields=["retired"])


def _put_time_off(change: models.Change, value: Any) -> None:
    if value is None:
        TimeOff.objects.filter(pk=change.row).delete()
    elif isinstance(value, dict):
        TimeOff.objects.update_or_create(pk=change.row, defaults=value)


def _put_crew_gone(change: models.Change, value: Any) -> None:
    for crew in Crew.objects.filter(pk=change.row):
        crew.gone_from, crew.active = _day(value), True
        crew.save(update_fields=["gone_from", "active"])


def _put_machine_gone(change: models.Change, value: Any) -> None:
    for machine in Machine.objects.filter(pk=change.row):
        machine.gone, machine.active = value, True
        machine.save(update_fields=["gone", "active"])


def _day(value: object) -> date | None:
    return date.fromisoformat(value) if isinstance(value, str) else None


_PUT = {
    TIME_OFF: _put_time_off,
    DELIVERY: _put_late,
    DECISION: _put_late,
    JOB: _put_job,
    WORKS: _put_works,
    CHANGE_ORDER: _put_order,
    CREW_GONE: _put_crew_gone,
    MACHINE_GONE: _put_machine_gone,
}
