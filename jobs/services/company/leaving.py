"""A crew or a machine that is no longer with us from a day on: said, and taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db import transaction

from crews.models import Crew, Machine
from crews.services.leaving import let_go
from crews.services.setup import ChangedMeanwhileError
from crews.services.today import wall_now
from jobs import models
from jobs.services.causes.late import take_back_change
from jobs.services.causes.put import CREW_GONE, MACHINE_GONE, put
from jobs.services.history import keep_change, record
from jobs.services.sky.outlook import note_hands
from jobs.services.telling.speech import say_date
from jobs.services.turns import take_turn

if TYPE_CHECKING:
    from datetime import date

    from jobs.services.history import Who

BACK = "with us again"


@transaction.atomic
def leave(gone: Crew | Machine, since: date, units: int, who: Who, *, revision: int) -> None:
    """Say that a crew, or so many units of a machine, are no longer with us from a day on.

    What was planned, done and logged before stays as it is; plans made from now on do without from that
    day. Once it has come, links and phones end.

    Raises
    ------
    ChangedMeanwhileError
        If the crew or machine is not at the revision the editor saw.
    """
    gone = _locked(gone)
    if gone.revision != revision:
        raise ChangedMeanwhileError
    change = models.Change(
        cause=models.Cause.GONE, row=gone.pk, first=since, by=who.by, at=who.now, **_told(gone)
    )
    change.after = since.isoformat()
    count = ""
    if isinstance(gone, Machine):
        change.after = [*gone.gone, [since.isoformat(), units]]
        count = f", {units} of {gone.count}" if gone.count > 1 else ""
    change.why = f"{gone}{count}, from {say_date(since)}"
    put(change, change.after, who.now)
    keep_change(change)
    let_go(who.now.date(), wall_now())
    note_hands(who.now)


@transaction.atomic
def stay(gone: Crew | Machine, who: Who) -> None:
    """Take back that a crew, or any unit of a machine, is gone; links that ended stay ended."""
    gone = _locked(gone)
    said = models.Change.objects.filter(plan=None, table=_told(gone)["table"], row=gone.pk)
    for change in said.order_by("-pk"):
        take_back_change(change, by=who.by, now=who.now)
    gone.refresh_from_db()
    told = _told(gone)
    if told["before"]:
        put(models.Change(row=gone.pk, **told), [] if isinstance(gone, Machine) else None, who.now)
        record(BACK, by=who.by, at=who.now, before={"who": str(gone)})
    note_hands(who.now)


def _told(gone: Crew | Machine) -> dict[str, Any]:
    """The table of its change, and how it stands now."""
    if isinstance(gone, Machine):
        return {"table": MACHINE_GONE, "before": gone.gone}
    before = gone.gone_from.isoformat() if gone.gone_from else None
    return {"table": CREW_GONE, "before": before}


def _locked(gone: Crew | Machine) -> Crew | Machine:
    take_turn()
    if isinstance(gone, Machine):
        return Machine.objects.select_for_update().get(pk=gone.pk)
    return Crew.objects.select_for_update().get(pk=gone.pk)
