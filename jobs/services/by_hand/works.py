"""Working by hand: works no template gives, pins, a second crew. All of it outlives an expansion."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction
from django.db.models import Max

from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.models.job import new_uid
from jobs.services.history import Who, record
from jobs.services.numbers.library import library_for
from jobs.services.planning.conflicts import refuse_impossible
from jobs.services.scope.hands import HAND, OWN
from jobs.services.scope.takeoff import expand_job
from jobs.services.turns import take_turn
from jobs.trade.errors import TradeError
from jobs.trade.work import Shift, Tread

if TYPE_CHECKING:
    from datetime import date
    from decimal import Decimal

    from crews.models import Crew

OUTSIDE = "outside"
"""Skill of people who are not ours."""


class HandWork(NamedTuple):
    """A work of one's own: what, where, who, crew days, how many people."""

    name: str
    zone: models.Zone
    skill: str
    days: Decimal
    people: int


class Pins(NamedTuple):
    """What of a work is fixed by hand; None is no pin. ``hired`` if somebody hired does it, no crew of ours."""

    not_before: date | None = None
    not_after: date | None = None
    crew: Crew | None = None
    hired: bool = False


@transaction.atomic
def add_work(job: models.Job, work: HandWork, who: Who, *, uid: str = "") -> models.Activity:
    """Add a work no template gives; sent twice it is added once.

    Parameters
    ----------
    uid
        Minted with the form; empty for a fresh one.
    """
    uid = uid or new_uid()
    key = f"{HAND}{uid}"
    if (made := job.activities.filter(key=key).first()) is not None:
        return made
    last = job.activities.aggregate(last=Max("order"))["last"] or 0
    row = models.Activity(job=job, uid=uid, key=key, template="", order=last + 1)
    fill(row, work)
    row.save()
    expand_job(job, now=who.now)
    record("work added by hand", by=who.by, at=who.now, job=job, after=told(row))
    return row


@transaction.atomic
def change_work(row: models.Activity, work: HandWork, who: Who, *, revision: int) -> None:
    """Change a work of one's own.

    Raises
    ------
    ChangedMeanwhileError
        If it is not at the revision the editor saw.
    """
    row = at_revision(row, revision)
    before = told(row)
    fill(row, work)
    row.save()
    expand_job(row.job, now=who.now)
    row.refresh_from_db()
    record(
        "work changed by hand", by=who.by, at=who.now, job=row.job, before=before, after=told(row)
    )


@transaction.atomic
def remove_work(row: models.Activity, who: Who) -> None:
    """Take a work of one's own out; what was planned or begun stays in the record, retired.

    Raises
    ------
    TradeError
        If it is under way.
    """
    whole = [row, *row.parts.all()]
    for part in whole:
        if part.started_at is not None:
            raise TradeError(f"{part.name} is under way", remedy="let it finish, or log it as done")
    before = told(row)
    if models.PlanRow.objects.filter(activity__in=whole).exists():
        for part in whole:
            part.retired = True
            part.save()
    else:
        row.delete()
    expand_job(row.job, now=who.now)
    record("work removed by hand", by=who.by, at=who.now, job=row.job, before=before)


@transaction.atomic
def pin(row: models.Activity, pins: Pins, who: Who, *, revision: int) -> None:
    """Fix the days a work may lie between and the crew that does it.

    Raises
    ------
    CannotAllBeKept
        If it is proven that not everything wished by hand can be kept with it.
    ChangedMeanwhileError
        If the work is not at the revision the editor saw.
    TradeError
        If the crew is lent to it as the second one.
    """
    row = at_revision(row, revision)
    _refuse_twice(row, pins.crew, row.lent)
    before = told(row)
    row.not_before, row.not_after, row.only_crew, row.hired = pins
    row.save()
    if any(pins):
        refuse_impossible(who.now, row.uid)
    record("pinned by hand", by=who.by, at=who.now, job=row.job, before=before, after=told(row))


@transaction.atomic
def lend_crew(row: models.Activity, crew: Crew | None, who: Who, *, revision: int) -> None:
    """Lend a second crew to a work; None takes it away again.

    Raises
    ------
    ChangedMeanwhileError
        If the work is not at the revision the editor saw.
    TradeError
        If it is the crew that is to do the work itself.
    """
    row = at_revision(row, revision)
    _refuse_twice(row, row.only_crew, crew)
    before = told(row)
    row.lent = crew
    row.save()
    record("crew lent", by=who.by, at=who.now, job=row.job, before=before, after=told(row))


def told(row: models.Activity) -> dict[str, str]:
    """Return a work as the record keeps it."""
    facts = {
        "what": row.name,
        "days": f"{row.days.normalize():f}",
        "people": str(row.people),
        "skill": row.skill,
        "not before": row.not_before.isoformat() if row.not_before else "",
        "not after": row.not_after.isoformat() if row.not_after else "",
        "only by": "somebody hired" if row.hired else row.only_crew.name if row.only_crew else "",
        "second crew": row.lent.name if row.lent else "",
    }
    return {key: value for key, value in facts.items() if value}


def _refuse_twice(row: models.Activity, does: Crew | None, helps: Crew | None) -> None:
    if does is not None and does == helps:
        raise TradeError(
            f"{does.name} cannot do {row.name} and be its second crew, too",
            remedy="choose another one",
        )


def at_revision(row: models.Activity, revision: int) -> models.Activity:
    """Return a work as it is now, locked, if it still is as its editor saw it.

    Raises
    ------
    ChangedMeanwhileError
        If it is not.
    """
    take_turn()
    found = models.Activity.objects.select_for_update().select_related("job").get(pk=row.pk)
    if found.revision != revision:
        raise ChangedMeanwhileError
    return found


def fill(row: models.Activity, work: HandWork) -> None:
    """Write what is told of a work of one's own onto its row."""
    outside = work.skill == OUTSIDE
    row.name, row.zone, row.skill = work.name, work.zone, work.skill
    row.quantity, row.unit = work.days, "days"
    row.days_low = row.days = row.days_high = work.days
    row.people = row.least = work.people
    row.material = material_of(work.skill, row.job)
    row.detail = {
        "machines": [],
        "weather": "W1",
        "one_go": False,
        "shift": Shift.DAY.value,
        "outside": outside,
        "request": False,
        "counts": True,
        "treads": {work.zone.uid: int(Tread.FOOT)},
        "hauls": {},
        "holds": [],
        "sign": "",
        "cautions": [],
        "milestone": "",
        OWN: {"name": work.name, "days": f"{work.days.normalize():f}"},
    }


def material_of(skill: str, job: models.Job) -> str:
    """Return the material most works of a skill are drawn with."""
    library = library_for(job)
    found = Counter(
        template.material
        for template in library.templates.values()
        if library.crews[template.crew].skill == skill
    )
    return found.most_common(1)[0][0] if found else "ink"
