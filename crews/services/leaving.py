"""What ends when a crew or a machine is no longer with us: its calendar links and its phones."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction

from crews.models import Crew, CrewPhone, FeedLink, Machine

from .crew_phone import turn_off
from .links import revoke

if TYPE_CHECKING:
    from datetime import date, datetime

    from django.db.models import QuerySet


class Ending(NamedTuple):
    """How many live calendar links and phones somebody has."""

    links: int
    phones: int


def ending(gone: Crew | Machine) -> Ending:
    """Return what will end with a crew or a machine."""
    return Ending(_links(gone).count(), _phones(gone).count())


@transaction.atomic
def let_go(today: date, now: datetime) -> int:
    """Take whoever is gone by today out of lists and forms, and end its links and phones.

    Their published events stay. To be called when somebody leaves and once a day.

    Parameters
    ----------
    today
        Day that plans look from.
    now
        Aware instant of the wall clock, by which links end.

    Returns
    -------
    int
        How many crews and machines left.
    """
    crews = list(Crew.objects.filter(active=True, gone_from__lte=today))
    some_gone = Machine.objects.filter(active=True).exclude(gone=[])
    machines = [one for one in some_gone if one.units_on(today) <= 0]
    Crew.objects.filter(pk__in=[one.pk for one in crews]).update(active=False)
    Machine.objects.filter(pk__in=[one.pk for one in machines]).update(active=False)
    left: list[Crew | Machine] = [*crews, *machines]
    for gone in left:
        for link in _links(gone):
            revoke(link, now)
        for phone in _phones(gone):
            turn_off(phone, now)
    return len(left)


def _links(gone: Crew | Machine) -> QuerySet[FeedLink]:
    subject = f"{gone._meta.model_name}:{gone.slug}"
    return FeedLink.objects.filter(subject=subject, revoked=None)


def _phones(gone: Crew | Machine) -> QuerySet[CrewPhone]:
    crew = gone.pk if isinstance(gone, Crew) else None
    return CrewPhone.objects.filter(crew=crew, revoked=None)
