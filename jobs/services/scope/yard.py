"""A yard changed by hand: its facts, zones and ways in, its first promise."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction
from django.utils.text import slugify

from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.services.history import record
from jobs.services.scope.takeoff import expand_job
from jobs.services.turns import take_turn
from jobs.trade.errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date, datetime
    from decimal import Decimal

    from jobs.services.history import Who

SLUG = 60


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
    take_turn()
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
    expand_job(job, now=now)
    record("yard changed", by=by, at=now, job=job, before=before, after=told(job))


@transaction.atomic
def promise_first(job: models.Job, day: date, who: Who) -> None:
    """Keep the first finish an owner is promised; a later one is said under what else happened.

    Raises
    ------
    TakenError
        If something is promised already.
    """
    take_turn()
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


def free_of(name: str, taken: set[str], word: str) -> str:
    """Return a slug for a name that is not among those taken, and take it."""
    slug = slugify(name)[: SLUG - 4].strip("-") or word
    n, free = 2, slug
    while free in taken:
        free, n = f"{slug}-{n}", n + 1
    taken.add(free)
    return free


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
