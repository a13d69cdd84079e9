"""A job set up: its yard as first told, or like an earlier one."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, NamedTuple

from django.db import IntegrityError, transaction

from jobs import models
from jobs.services.history import record
from jobs.services.scope.takeoff import built_items, expand_job

from .yard import JobFacts, TakenError, free_of, told

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from decimal import Decimal

    from jobs.services.history import Who

WHOLE_YARD = "Whole yard"
STREET = "street"
RESERVED = {"new", "import"}
"""Words that stand in the addresses of jobs."""


class NewZone(NamedTuple):
    """A zone of a new yard with the way into it; ``width`` None if nobody measured it.

    Nothing told of the way: the zone lies open to the street.
    """

    name: str
    area: Decimal | None = None
    reached_from: str = ""
    way: str = ""
    width: int | None = None
    length_ft: int = 0


@transaction.atomic
def make_job(
    facts: JobFacts,
    zones: Sequence[NewZone],
    *,
    who: Who,
    uid: str = "",
    like: models.Job | None = None,
    station: str = "",
) -> models.Job:
    """Make a job with its yard, and with what is built in an earlier one if it shall be like it.

    Parameters
    ----------
    uid
        Minted with the form, so that sending it twice makes one job.
    station
        The place whose climate it goes by; empty for the nearest.

    Raises
    ------
    TakenError
        If another job has the name.
    TradeError
        If what is to be built contradicts itself.
    """
    if uid and (made := models.Job.objects.filter(uid=uid).first()):
        return made
    if models.Job.objects.filter(name__iexact=facts.name).exists():
        raise TakenError
    values = asdict(facts) | ({"uid": uid} if uid else {})
    try:
        with transaction.atomic():
            job = models.Job.objects.create(slug=free_slug(facts.name), **values)
    except IntegrityError:
        raise TakenError from None
    if station:
        models.ClimatePlace.objects.create(job=job, station=station)
    places = _new_zones(job, zones)
    _new_ways(job, zones, places)
    if like is not None:
        _copy(job, like, places)
    expand_job(job, now=who.now)
    record("job made", by=who.by, at=who.now, job=job, after=told(job))
    return job


def free_slug(name: str) -> str:
    """Return a slug no job has, and that is no word of an address."""
    taken = set(models.Job.objects.values_list("slug", flat=True)) | RESERVED
    return free_of(name, taken, "job")


def _new_zones(job: models.Job, zones: Iterable[NewZone]) -> dict[str, models.Zone]:
    whole = models.Zone.objects.create(job=job, slug="whole-yard", name=WHOLE_YARD, whole=True)
    places, taken = {WHOLE_YARD.casefold(): whole}, {"whole-yard"}
    for order, zone in enumerate(zones, 1):
        places[zone.name.casefold()] = models.Zone.objects.create(
            job=job,
            slug=free_of(zone.name, taken, "zone"),
            name=zone.name,
            area_ft2=zone.area,
            order=order,
        )
    return places


def _new_ways(job: models.Job, zones: Iterable[NewZone], places: dict[str, models.Zone]) -> None:
    taken: set[str] = set()
    for zone in zones:
        if zone.width is None and not (zone.reached_from or zone.way or zone.length_ft):
            continue
        start = zone.reached_from.casefold() or STREET
        name = zone.way or f"Way to {zone.name[:40]}"
        models.Passage.objects.create(
            job=job,
            slug=free_of(name, taken, "way"),
            name=name,
            start=None if start == STREET else places[start],
            end=places[zone.name.casefold()],
            width=zone.width,
            length_ft=zone.length_ft,
        )


def _copy(job: models.Job, like: models.Job, places: dict[str, models.Zone]) -> None:
    """Take over what is built, where a zone of the same name is there, and the yard's answers."""
    job.options = like.options
    job.save(update_fields=["options"])
    for item in built_items(like):
        zone = places.get(item.zone.name.casefold())
        if zone is not None:
            models.ScopeItem.objects.create(
                job=job,
                assembly=item.assembly,
                zone=zone,
                name=item.name,
                answers=item.answers,
                order=item.order,
            )
