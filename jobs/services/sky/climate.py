"""Climate of a yard: the tables of ``fixtures/climate``, the nearest place, or the company's own record."""

from __future__ import annotations

import csv
from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jobs import models
from jobs.services.telling.speech import counted
from jobs.weather.chain import Chain
from jobs.weather.climate import Month, MonthlyClimate, Near, Spot, by_name, kilometres, nearest
from jobs.weather.errors import BadPlace
from jobs.weather.rain import (
    USUAL_MEMORY,
    Rain,
    Remembered,
    memory_at,
    rain_of_month_figures,
    rain_of_years,
)
from jobs.weather.temperature import Swing, Warmth, usual_swings

from .backtest import load_record

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from jobs.weather.record import DailyRecord

FOLDER = Path(__file__).resolve().parents[3] / "fixtures" / "climate"
SEASONS = tuple(USUAL_MEMORY)
LONGEST_NAME = 100


@dataclass(frozen=True, slots=True)
class LocalClimate:
    """What the odds of a yard are made from.

    Attributes
    ----------
    near
        The place and how far it is.
    rain, warmth
        Made fit for the yard: odds widened by distance, temperatures by height.
    chosen
        Somebody named the place; else it is the nearest.
    record
        Years of the company's own daily record behind the rain; empty for the tables.
    """

    near: Near
    rain: Rain
    warmth: Warmth
    chosen: bool = False
    record: str = ""


@cache
def climates() -> tuple[MonthlyClimate, ...]:
    """Return the places of the tables, read once per process."""
    months: dict[str, list[Month]] = defaultdict(list)
    for row in _rows("months.csv"):
        figures = list(row.values())[2:]
        months[row["station"]].append(Month(*(float(x) if x else None for x in figures)))  # type: ignore[arg-type]
    return tuple(
        MonthlyClimate(
            station=row["station"],
            name=row["place"],
            state=row["state"],
            spot=Spot(float(row["lat"]), float(row["lon"]), float(row["elev_m"])),
            months=tuple(months[row["station"]]),
            years=int(row["years"]),
        )
        for row in _rows("places.csv")
    )


def _rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


@cache
def remembered() -> tuple[Remembered, ...]:
    """Return the places whose daily memory was counted in all four seasons."""
    places = {climate.station: climate.spot for climate in climates()}
    memory: dict[str, dict[str, float]] = defaultdict(dict)
    for row in _rows("persistence.csv"):
        memory[row["station"]][row["season"]] = float(row["lag1_r"])
    return tuple(
        Remembered(places[station], seasons)
        for station, seasons in memory.items()
        if station in places and all(season in seasons for season in SEASONS)
    )


@cache
def swings() -> Mapping[str, tuple[Swing, ...]]:
    """Return, per station with a daily record, how far days of a month lie from its mean."""
    found: dict[str, list[Swing]] = defaultdict(list)
    for row in _rows("spread.csv"):
        found[row["station"]].append(
            Swing(float(row["tmax_sd_c"]), float(row["tmin_sd_c"]), float(row["day_to_day_r"]))
        )
    return {station: tuple(months) for station, months in found.items()}


def near_of(climate: MonthlyClimate) -> Near:
    """Return a place as its own nearest."""
    return Near(climate, 0.0, 0.0)


def rain_at(near: Near) -> Rain:
    """Return the rain of a place from the tables, less sure the farther it is."""
    memory = memory_at(near.climate.spot, remembered())
    return rain_of_month_figures(near.climate, memory).widened(near.strange)


def warmth_at(near: Near) -> Warmth:
    """Return the temperatures of a place, cooled or warmed by the yard's height."""
    spots = {climate.station: climate.spot for climate in climates()}
    known = [(kilometres(near.climate.spot, spots[s]), months) for s, months in swings().items()]
    return Warmth(
        highs=tuple(month.tmax_c - near.cooler for month in near.climate.months),
        lows=tuple(month.tmin_c - near.cooler for month in near.climate.months),
        swings=usual_swings(known),
        winds=tuple(_wind(m) for m in range(12))
        if near.climate.months[0].wind_ms is None
        else tuple(month.wind_ms or 0.0 for month in near.climate.months),
    )


@cache
def _wind(month: int) -> float:
    """Mean wind of a month over the places that have one, for those that have none."""
    known = [c.months[month].wind_ms for c in climates()]
    winds = [wind for wind in known if wind is not None]
    return sum(winds) / len(winds)


def climate_of(job: models.Job) -> LocalClimate:
    """Return the climate of a job: its own record, the place somebody chose, or the nearest.

    Raises
    ------
    BadPlace
        If the job has no position and no place was chosen.
    """
    row = models.ClimatePlace.objects.filter(job=job).first()
    return climate_at(_spot(job), row)


def climates_of(jobs: Iterable[models.Job]) -> dict[str, LocalClimate]:
    """Return the climate of each job by its uid, in one query; where no place is known, none."""
    jobs = list(jobs)
    rows = {row.job_id: row for row in models.ClimatePlace.objects.filter(job__in=jobs)}
    found = {}
    for job in jobs:
        with suppress(BadPlace):
            found[job.uid] = climate_at(_spot(job), rows.get(job.pk))
    return found


def climate_at(spot: Spot | None, row: models.ClimatePlace | None = None) -> LocalClimate:
    """Return the climate at a position, or of a stored choice."""
    if row is not None and row.station:
        chosen = by_name(climates(), row.station)
        near = nearest((chosen,), spot or chosen.spot, 1)[0]
    elif spot is not None:
        near = nearest(climates(), spot, 1)[0]
    else:
        raise BadPlace(
            "the yard has no position, so no place is near it",
            remedy="give its latitude and longitude, or choose a place's climate",
        )
    figures = row.figures if row is not None else {}
    warmth = warmth_at(near)
    return LocalClimate(
        near=near,
        rain=rain_from(figures) if figures else rain_at(near),
        warmth=_measured(warmth, figures["air"]) if "air" in figures else warmth,
        chosen=row is not None and bool(row.station),
        record=row.record if row is not None else "",
    )


def _measured(usual: Warmth, air: Sequence[Any]) -> Warmth:
    """The temperatures of a record, with the usual wind."""
    highs, lows, swings = air
    return Warmth(tuple(highs), tuple(lows), tuple(Swing(*swing) for swing in swings), usual.winds)


def choose_place(job: models.Job, name: str) -> models.ClimatePlace:
    """Keep the place a job's climate is taken from; an empty name takes the nearest again.

    Raises
    ------
    BadPlace
        If no place, or more than one, is called so.
    """
    station = by_name(climates(), name).station if name else ""
    row, _ = models.ClimatePlace.objects.update_or_create(job=job, defaults={"station": station})
    return row


def use_record(job: models.Job, path: Path) -> models.ClimatePlace:
    """Count a station's own daily record and use it for a job.

    Raises
    ------
    BadRecord
        If the file cannot be read or is too short.
    """
    return keep_record(job, path.name, load_record(path))


def keep_record(job: models.Job, name: str, record: DailyRecord) -> models.ClimatePlace:
    """Use the rain of a daily record for a job, and its temperatures where it has them.

    Raises
    ------
    BadRecord
        If a month was never seen.
    """
    years = f"{record.years[0]}-{record.years[-1]}"
    figures = figures_of(rain_of_years(record.tallies()))
    air = record.air()
    if air is not None:
        figures["air"] = [list(air[0]), list(air[1]), [list(swing) for swing in air[2]]]
    row, _ = models.ClimatePlace.objects.update_or_create(
        job=job,
        defaults={
            "figures": figures,
            "record": f"{name[:LONGEST_NAME]}, {years}, {counted(record.missing, 'day')} missing",
        },
    )
    return row


def figures_of(rain: Rain) -> dict[str, Any]:
    """Return rain as stored."""
    return {
        "chains": [[chain.after_dry, chain.after_wet] for chain in rain.chains],
        "heavy": list(rain.heavy),
        "spread": rain.spread,
    }


def rain_from(figures: Mapping[str, Any]) -> Rain:
    """Return stored rain."""
    return Rain(
        tuple(Chain(dry, wet) for dry, wet in figures["chains"]),
        tuple(figures["heavy"]),
        figures["spread"],
    )


def _spot(job: models.Job) -> Spot | None:
    if job.latitude is None or job.longitude is None:
        return None
    return Spot(float(job.latitude), float(job.longitude))
