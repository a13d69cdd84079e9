"""What may go otherwise than planned, read from tables: climate, forecast, limits, paces, waits."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from jobs import models
from jobs.scheduling.risk.hazards import Hazards
from jobs.scheduling.risk.place import DayForecast, Place
from jobs.scheduling.sky.limits import KMH_PER_MS, celsius, limits_of
from jobs.services.numbers.library import current_library, library_for
from jobs.trade.soil import GROUND, lie_of
from jobs.trade.turf import GROWING_F, LEAST_GROWING_F, SPRAYED
from jobs.weather.limits import Limit, Measure
from jobs.weather.rain import WET_MM
from jobs.weather.reading import days_of, read_day

from .climate import climates_of
from .forecast import latest_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date, datetime

    from jobs.services.world.planning import Planning
    from jobs.trade.facts import DryOut
    from jobs.trade.library import Library
    from jobs.trade.precedence import WaitKind
    from jobs.trade.templates import Template
    from jobs.weather.reading import WindowReading

    from .climate import LocalClimate
    from .forecast import Told

CURES = frozenset({"W-cure", "W-cure-slow", "W-cure-slower", "W-machine", "W-strip"})
"""Waits of concrete of which only warm time counts (UFGS 03301A; ACI 308.1)."""
COVERED = 0.9
"""Least share of a day that a forecast must know of its rain to be gone by."""
HOURS_A_DAY = Decimal(24)
USUAL_SOIL = "loam"
TURF_KILL = "turf-kill"
"""The assembly that kills an old lawn."""


def read_hazards(
    planning: Planning, now: datetime
) -> tuple[Hazards, Mapping[str, LocalClimate], Mapping[str, int]]:
    """Return the hazards of all planned jobs, the climate of each, and its days of forecast.

    A job without a position has no weather: its climate is missing from the answer.
    """
    climates = climates_of(planning.jobs.values())
    skies = latest_of(planning.jobs.values(), now)
    places: dict[str, Place] = {}
    reach: dict[str, int] = {}
    for uid in climates:
        job = planning.jobs[uid]
        days = _forecast(skies.get(uid), now)
        reach[uid] = len(days)
        places[uid] = _shared(places, _place(job, climates[uid], days))
    hazards = Hazards(
        places=places,
        limits=limits_by_work(planning),
        paces=_paces(planning),
        waits={key: _spread(kind) for key, kind in current_library().waits.items()},
        own_waits=_own_waits(planning),
        cures=cures(),
        fixed=planning.fixed,
        windows=planning.windows,
    )
    return hazards, climates, reach


def _shared(places: Mapping[str, Place], place: Place) -> Place:
    """The same object for jobs of the same weather and soil, which is drawn once."""
    return next((known for known in places.values() if known == place), place)


def _place(job: models.Job, climate: LocalClimate, days: Mapping[date, DayForecast]) -> Place:
    return Place(
        name=climate.near.climate.station,
        rain=climate.rain,
        warmth=climate.warmth,
        dryout=dryout_of(job),
        lat=float(job.latitude or climate.near.climate.spot.lat),
        forecast=days,
        lie=lie_of(str(job.options.get(GROUND, ""))),
    )


def dryout_of(job: models.Job) -> DryOut:
    """Return how the soil of a job dries: by its texture, as loam where that is not known."""
    library = library_for(job)
    known = library.soils.get(job.soil)
    texture = known.texture if known else job.soil
    return library.dryout.get(texture) or library.dryout[USUAL_SOIL]


def _forecast(told: Told | None, now: datetime) -> dict[date, DayForecast]:
    """Days from today that the last good forecast knows well; none of a stale one."""
    if told is None or told.hours is None or told.stale:
        return {}
    today = now.astimezone(told.zone).date()
    return {
        day: known
        for day in days_of(told.hours.reach, told.zone)
        if day >= today and (known := _day(told, day)) is not None
    }


def _day(told: Told, day: date) -> DayForecast | None:
    """One day, or None if it leaves rain or air open."""
    if told.hours is None:
        return None
    read = read_day(told.hours, day, told.zone)
    if read.tmin_c is None or read.tmax_c is None or read.wind_max_kmh is None:
        return None
    if read.rain_mm is None or read.rain_cover < COVERED or read.pop_pct is None:
        return None
    return DayForecast(_wet(read), read.tmax_c, read.tmin_c, read.wind_max_kmh / KMH_PER_MS)


def _wet(read: WindowReading) -> float:
    """Chance of 0.10 in or more: that of any rain, less where little is expected (our convention)."""
    return (read.pop_pct or 0) / 100 * min(1.0, (read.rain_mm or 0) / WET_MM)


def limits_by_work(planning: Planning) -> dict[str, tuple[Limit, ...]]:
    """Return what stops each outdoor work: its template's weather classes, its own wind and limits.

    Each job goes by the library it was reckoned with; a spray by what grows there, too.
    """
    libraries = {job.pk: library_for(job) for job in planning.jobs.values()}
    weeds = weeds_of(planning.jobs.values())
    made: dict[tuple[object, ...], tuple[Limit, ...]] = {}
    out = {}
    for uid, activity in planning.activities.items():
        library, usual = libraries[activity.job_id], activity.detail.get("weather", "W1")
        weed = weeds.get(activity.key.partition("/")[0], "")
        key = (id(library), activity.template, usual, weed)
        if key not in made:
            template = library.templates.get(activity.template)
            made[key] = limits_of_work(library, template, usual, weed)
        if not activity.detail.get("outside"):
            out[uid] = made[key]
    return out


def weeds_of(jobs: Iterable[models.Job]) -> dict[str, str]:
    """Return what grows where an old lawn is killed, by scope item; one query."""
    items = models.ScopeItem.objects.filter(job__in=list(jobs), assembly=TURF_KILL)
    return {item.uid: str(item.answers.get("weed", "")) for item in items}


def limits_of_work(
    library: Library, template: Template | None, usual: str, weed: str = ""
) -> tuple[Limit, ...]:
    """Return what stops one kind of work.

    Parameters
    ----------
    usual
        Its weather class where no template is known.
    weed
        What grows where it is sprayed: turf that sleeps carries no spray to its roots.
    """
    own: dict[str, Any] = dict(template.own_weather) if template else {}
    names = (usual, *(template.also_weather if template else ()))
    classes = [replace(library.weather[n], **own) for n in names if n in library.weather]
    wind = own.get("wind_mph", template.wind_mph if template else None)
    limits = limits_of(*classes, wind_mph=None if wind is None else float(wind))
    if template is None or template.key not in SPRAYED:
        return limits
    growing = celsius(GROWING_F.get(weed, LEAST_GROWING_F))
    return (*limits, Limit(Measure.SOIL, growing, over=False))


def _paces(planning: Planning) -> dict[str, tuple[float, float]]:
    """Quickest and slowest of each work against its typical days."""
    return {
        uid: (float(a.days_low / a.days), float(a.days_high / a.days))
        for uid, a in planning.activities.items()
        if a.days > 0
    }


def _spread(kind: WaitKind) -> tuple[float, float]:
    """Least and high of a wait against its usual figure."""
    if not kind.usual:
        return 1.0, 1.0
    return float(kind.least / kind.usual), float(kind.high / kind.usual)


def _own_waits(planning: Planning) -> dict[tuple[str, str], tuple[float, float]]:
    """Spread of the waits that a job goes by other figures of than ours."""
    ours = current_library().waits
    return {
        (uid, key): _spread(kind)
        for uid, job in planning.jobs.items()
        for key, kind in library_for(job).waits.items()
        if kind != ours.get(key)
    }


def cures() -> dict[str, float]:
    """Days of warmth that waits of concrete take at least."""
    waits = current_library().waits
    found = {key: waits[key] for key in CURES if key in waits}
    return {
        key: float(kind.least / (HOURS_A_DAY if kind.unit == "h" else 1))
        for key, kind in found.items()
    }
