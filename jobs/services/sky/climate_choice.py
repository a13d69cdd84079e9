"""Where a yard's climate comes from, chosen on its page: a place, a daily record, or the nearest again."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from django.db import transaction

from crews.services.setup import ChangedMeanwhileError
from jobs import models
from jobs.services.history import record
from jobs.weather.errors import BadPlace

from .backtest import record_of
from .climate import choose_place, climate_of, climates, keep_record

if TYPE_CHECKING:
    from jobs.services.history import Who
    from jobs.weather.climate import MonthlyClimate


def seen_of(row: models.ClimatePlace | None) -> str:
    """Return what an editor saw, so that he can be told if it is not so any more."""
    return "" if row is None else f"{row.pk}.{row.revision}"


def chosen_for(job: models.Job) -> models.ClimatePlace | None:
    """Return what was chosen for a job, None if nothing was."""
    return models.ClimatePlace.objects.filter(job=job).first()


def places_by_state() -> tuple[MonthlyClimate, ...]:
    """Return all places whose climate is known, state by state."""
    return tuple(sorted(climates(), key=lambda place: (place.state, place.name)))


def usual_station(state: str) -> str:
    """Return the station the newest job of a state goes by; empty if there is none."""
    for job in models.Job.objects.filter(us_state=state).order_by("-created", "-pk")[:1]:
        with suppress(BadPlace):
            return climate_of(job).near.climate.station
    return ""


@transaction.atomic
def set_place(job: models.Job, station: str, who: Who, *, seen: str) -> None:
    """Take the climate of a place by its station; an empty one takes the nearest.

    Raises
    ------
    BadPlace
        If there is no such place.
    ChangedMeanwhileError
        If somebody chose otherwise meanwhile.
    """
    before = _fresh(job, seen)
    choose_place(job, station)
    _record("climate place chosen", job, who, before)


@transaction.atomic
def set_record(job: models.Job, name: str, content: bytes, who: Who, *, seen: str) -> list[str]:
    """Count a station's daily record and use it; return what was odd about the file.

    Raises
    ------
    BadRecord
        If it cannot be read, with the lines that are wrong.
    ChangedMeanwhileError
        If somebody chose otherwise meanwhile.
    """
    before = _fresh(job, seen)
    days = record_of(name, content)
    keep_record(job, name, days)
    _record("climate record loaded", job, who, before)
    return list(days.remarks)


@transaction.atomic
def drop_record(job: models.Job, who: Who, *, seen: str) -> None:
    """Go by the tables again.

    Raises
    ------
    ChangedMeanwhileError
        If somebody chose otherwise meanwhile.
    """
    before = _fresh(job, seen)
    models.ClimatePlace.objects.update_or_create(job=job, defaults={"figures": {}, "record": ""})
    _record("climate record taken out", job, who, before)


def _fresh(job: models.Job, seen: str) -> str:
    """What holds now, in words; refused if it is not what the editor saw."""
    row = models.ClimatePlace.objects.select_for_update().filter(job=job).first()
    if seen_of(row) != seen:
        raise ChangedMeanwhileError
    return str(row) if row is not None else "nearest place"


def _record(what: str, job: models.Job, who: Who, before: str) -> None:
    after = str(chosen_for(job))
    if after != before:
        record(what, by=who.by, at=who.now, job=job, before=before, after=after)
