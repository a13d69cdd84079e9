"""Reads where a yard's climate comes from: the place, how far it is, its months, and the forecast's state."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from jobs.scheduling.sky.limits import fahrenheit
from jobs.services.sky.climate import FOLDER, climate_at, climates
from jobs.services.sky.climate_choice import chosen_for, seen_of
from jobs.services.sky.forecast import latest, spot_of
from jobs.services.telling.speech import say_day, say_time
from jobs.services.telling.words import MONTHS, say
from jobs.trade.work import Sentence
from jobs.weather.climate import MONTH_DAYS, nearest
from jobs.weather.errors import BadPlace

from .frame import JobHead, job_head, shown_plan
from .sky import no_forecast

if TYPE_CHECKING:
    from datetime import datetime

    from jobs import models
    from jobs.services.sky.climate import LocalClimate
    from jobs.weather.chain import Chain
    from jobs.weather.climate import Spot

MILES_PER_KM = 0.621371
NEAREST = 12


class MonthRow(NamedTuple):
    """One month as the odds go by it."""

    month: str
    high: str
    low: str
    wet: str
    heavy: str


@dataclass(frozen=True, slots=True)
class ClimatePage:
    """Where the climate comes from, and what else there is to choose."""

    head: JobHead
    place: str
    miles: int | None
    far: bool
    chosen: str
    record: str
    months: tuple[MonthRow, ...]
    spells: str
    """How rain comes in spells there this month."""
    places: tuple[tuple[str, str], ...]
    forecast: str
    credits: tuple[str, ...]
    reason: str
    remedy: str
    seen: str


def read_climate(job: models.Job, now: datetime) -> ClimatePage:
    """Read the page of a yard's climate."""
    row = chosen_for(job)
    spot, reason, remedy, found = None, "", "", None
    try:
        spot = spot_of(job)
    except BadPlace as error:
        reason, remedy = error.reason, error.remedy
    try:
        found = climate_at(spot, row)
    except BadPlace as error:
        reason, remedy = error.reason, error.remedy
    return ClimatePage(
        head=job_head(job, "yard", shown_plan()),
        place=found.near.climate.label if found else "",
        miles=round(found.near.km * MILES_PER_KM) if found and spot else None,
        far=bool(found and found.near.far),
        chosen=row.station if row else "",
        record=found.record if found else "",
        months=tuple(_months(found)) if found else (),
        spells=say_spells(found.rain.chains[now.month - 1], now.month) if found else "",
        places=_places(spot, row),
        forecast=_forecast(job, now) if spot else "",
        credits=credits_told(),
        reason="" if found and spot else reason,
        remedy=remedy,
        seen=seen_of(row),
    )


def say_spells(chain: Chain, month: int) -> str:
    """Say how wet and dry days follow each other in a month (1 is January); nothing where it never rains."""
    if not chain.after_dry:
        return ""
    tenths = {
        "long": chain.wet_run(3),
        "five": chain.dry_run(5, wet=False),
        "three": chain.dry_run(3, wet=True),
        "later": chain.wet_in(2, wet=False),
    }
    days = chain.wet_days(int(MONTH_DAYS[month - 1]))
    figures = {"wet": chain.wet_spell, "dry": chain.dry_spell, "mean": days.mean}
    told = {name: f"{figure:.1f}" for name, figure in figures.items()}
    told |= {"spread": f"{days.deviation:.1f}", "month": MONTHS["en"][month - 1]}
    told |= {name: f"{chance * 10:.1f}" for name, chance in tenths.items()}
    return say(Sentence("climate-spells", told))


def _months(found: LocalClimate) -> list[MonthRow]:
    rows = []
    for m, days in enumerate(MONTH_DAYS):
        wet = found.rain.chains[m].wet_share * days
        rows.append(
            MonthRow(
                MONTHS["en"][m],
                f"{fahrenheit(found.warmth.highs[m]):.0f}",
                f"{fahrenheit(found.warmth.lows[m]):.0f}",
                f"{wet:.1f}",
                f"{wet * found.rain.heavy[m]:.1f}",
            )
        )
    return rows


def _places(spot: Spot | None, row: models.ClimatePlace | None) -> tuple[tuple[str, str], ...]:
    """The nearest places with their distance, or all by name where the yard has no position."""
    if spot is None:
        told = [(c.station, c.label) for c in sorted(climates(), key=lambda c: (c.state, c.name))]
    else:
        near = nearest(climates(), spot, NEAREST)
        told = [
            (n.climate.station, f"{n.climate.label}, {n.km * MILES_PER_KM:.0f} miles") for n in near
        ]
    known = {station for station, _ in told}
    if row is not None and row.station and row.station not in known:
        told += [(c.station, c.label) for c in climates() if c.station == row.station]
    return tuple(told)


def _forecast(job: models.Job, now: datetime) -> str:
    told = latest(job, now)
    if told.hours is None or told.stale:
        return no_forecast(told)
    made = (told.hours.updated or now).astimezone(told.zone)
    words = f"Made {say_day(made)}, {say_time(made)}"
    asked = f"{say_day(told.tried)}, {say_time(told.tried)}" if told.tried else ""
    if told.failure:
        since = f", {asked}," if asked else ""
        return f"{words}. {told.credit}. The last try since{since} gave nothing: {told.failure}."
    return f"{words}{f'; asked for last {asked}' if asked else ''}. {told.credit}."


@cache
def credits_told() -> tuple[str, ...]:
    """Return the credits that the licences of the tables ask for."""
    told = tomllib.loads((FOLDER / "SOURCES.toml").read_text("utf-8"))["source"]
    return tuple(dict.fromkeys(str(source["credit"]) for source in told))
