"""A job set up and its yard changed by hand: zones, ways in, dates."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, NamedTuple

from django.db import IntegrityError, transaction
from django.utils.text import slugify

from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.services.history import record
from jobs.services.scope.takeoff import built_items, expand_job
from jobs.trade.errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date, datetime
    from decimal import Decimal

    from jobs.services.history import Who

WHOLE_YARD = "Whole yard"
STREET = "street"
SLUG = 60
RESERVED = {"new", "import"}
"""Words that stand in the addresses of jobs."""


class TakenError(Exception):
    """There is a job of this name already."""


@dataclass(frozen=True, slots=True)
class JobFacts:
    """What is told of a job as a whole."""

    name: str
    address: str
    us_state: str
    zone: str
    soil: str
    starts_on: date
    promised_on: date | None = None
    access_notes: str = ""
    weight: int = 1
    latitude: Decimal | None = None
    longitude: Decimal | None = None


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


class ZoneFacts(NamedTuple):
    """A zone as changed; an empty uid is a new one."""

    uid: str
    name: str
    area: Decimal | None
    gone: bool = False


class PassageFacts(NamedTuple):
    """A way in as changed; an empty uid is a new one, an empty start the street."""

    uid: str
    name: str
    start: str
    end: str
    width: int | None
    length_ft: int = 0
    headroom: int | None = None
    load_lb: int | None = None
    floor: str = ""
    slope_percent: int = 0
    gone: bool = False


@dataclass(frozen=True, slots=True)
class Yard:
    """Zones, ways in and the answers for the yard as a whole, as changed."""

    zones: Sequence[ZoneFacts]
    passages: Sequence[PassageFacts]
    options: dict[str, str]


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
    expand_job(job, by=who.by, now=who.now)
    record("job made", by=who.by, at=who.now, job=job, after=told(job))
    return job


@transaction.atomic
def change_yard(
    job: models.Job, facts: JobFacts, yard: Yard, *, seen: str, by: str, now: datetime
) -> None:
    """Change a job's facts, zones, ways in and answers, and expand it again.

    Raises
    ------
    ChangedMeanwhileError
        If the yard is not as the editor saw it.
    TakenError
        If another job has the name.
    TradeError
        If a zone is built in and cannot go, or what is to be built contradicts itself.
    """
    job = models.Job.objects.select_for_update().get(pk=job.pk)
    if seen_of(job) != seen:
        raise ChangedMeanwhileError
    if models.Job.objects.exclude(pk=job.pk).filter(name__iexact=facts.name).exists():
        raise TakenError
    before = told(job)
    for name, value in asdict(facts).items():
        setattr(job, name, value)
    job.options = yard.options
    job.save()
    _change_zones(job, yard.zones)
    _change_ways(job, yard.passages)
    expand_job(job, by=by, now=now)
    record("yard changed", by=by, at=now, job=job, before=before, after=told(job))


@transaction.atomic
def promise_first(job: models.Job, day: date, who: Who) -> None:
    """Keep the first finish an owner is promised; a later one is said under what else happened.

    Raises
    ------
    TakenError
        If something is promised already.
    """
    job = models.Job.objects.select_for_update().get(pk=job.pk)
    if job.promised_on is not None:
        raise TakenError
    job.promised_on = day
    job.save()
    after = {"promise": day.isoformat()}
    record("promised", by=who.by, at=who.now, job=job, before={"promise": "none"}, after=after)


def seen_of(job: models.Job) -> str:
    """Return what an editor sees of a yard, so that he can be told if it is not so any more."""
    rows = [job, *job.zones.all(), *job.passages.all()]
    return " ".join(f"{row.pk}.{row.revision}" for row in rows)


def told(job: models.Job) -> dict[str, object]:
    """Return a yard as the record keeps it."""
    facts: dict[str, object] = {
        "name": job.name,
        "stage": str(job.state),
        "start": job.starts_on.isoformat(),
        "promise": job.promised_on.isoformat() if job.promised_on else "none",
    }
    zones = [zone.name for zone in job.zones.all() if not zone.whole]
    ways = [way.name for way in job.passages.all()]
    return facts | {"zones": ", ".join(zones), "ways in": ", ".join(ways)}


def free_slug(name: str) -> str:
    """Return a slug no job has, and that is no word of an address."""
    taken = set(models.Job.objects.values_list("slug", flat=True)) | RESERVED
    return free_of(name, taken, "job")


def free_of(name: str, taken: set[str], word: str) -> str:
    """Return a slug for a name that is not among those taken, and take it."""
    slug = slugify(name)[: SLUG - 4].strip("-") or word
    n, free = 2, slug
    while free in taken:
        free, n = f"{slug}-{n}", n + 1
    taken.add(free)
    return free


# -- a new yard --------------------------------------------------------------------------


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


# -- a yard changed ----------------------------------------------------------------------


def _change_zones(job: models.Job, zones: Iterable[ZoneFacts]) -> None:
    known = {zone.uid: zone for zone in job.zones.all()}
    taken = {zone.slug for zone in known.values()}
    last = max((zone.order for zone in known.values()), default=0)
    for order, facts in enumerate(zones, last + 1):
        row = known.get(facts.uid)
        if row is None:
            row = models.Zone(job=job, slug=free_of(facts.name, taken, "zone"), order=order)
        elif facts.gone:
            _remove_zone(row)
            continue
        if row.pk is None or (row.name, row.area_ft2) != (facts.name, facts.area):
            row.name, row.area_ft2 = facts.name, facts.area
            row.save()


def _remove_zone(zone: models.Zone) -> None:
    if zone.items.exists() or zone.activities.filter(retired=False).exists():
        raise TradeError(
            f"something is built in {zone.name}",
            remedy="take it out first, then the zone",
            where=zone.uid,
        )
    if zone.change_lines.exists():
        raise TradeError(
            f"a change order speaks of {zone.name}",
            remedy="keep the zone; its name and area can change",
            where=zone.uid,
        )
    if zone.activities.exists():
        raise TradeError(
            f"{zone.name} stands in the record of work that was planned there",
            remedy="keep the zone; with nothing in it, it changes nothing",
            where=zone.uid,
        )
    zone.delete()


def _change_ways(job: models.Job, passages: Iterable[PassageFacts]) -> None:
    zones = {zone.uid: zone for zone in job.zones.all()}
    known = {way.uid: way for way in job.passages.select_related("start", "end")}
    taken = {way.slug for way in known.values()}
    for facts in passages:
        row = known.get(facts.uid)
        if facts.gone:
            if row is not None:
                row.delete()
            continue
        if facts.end not in zones or (facts.start and facts.start not in zones):
            continue
        if row is None:
            row = models.Passage(job=job, slug=free_of(facts.name, taken, "way"))
        fresh = facts._asdict() | {
            "start": zones.get(facts.start),
            "end": zones[facts.end],
        }
        fields = [name for name in fresh if name not in ("uid", "gone")]
        if row.pk is None or any(getattr(row, name) != fresh[name] for name in fields):
            for name in fields:
                setattr(row, name, fresh[name])
            row.save()
