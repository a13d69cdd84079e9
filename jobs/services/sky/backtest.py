"""Try the odds on a daily record: were jobs really done by the days we would have said?

Jobs of 20 and 40 workdays, Monday to Friday, begin on the 1st and 15th of every month of the record. What
is said at each start is made from other years only: the year itself and the next are left out. A workday is
lost when it has 2.5 mm or more; with dry-out 1 the day after 12.7 mm as well, with 2 the day after any.
"""

from __future__ import annotations

import csv
from datetime import date, timedelta
from io import StringIO
from math import isfinite
from typing import TYPE_CHECKING, Any, NamedTuple

from jobs.scheduling.risk.days import DryOut, Start, finish_chances, score_chances
from jobs.weather.climate import MONTH_DAYS, Month, MonthlyClimate, Spot, season_of
from jobs.weather.errors import BadRecord
from jobs.weather.rain import rain_of_month_figures, rain_of_years
from jobs.weather.record import HEAVY_READ_MM, WET_READ_MM, read_record

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from jobs.weather.rain import Rain, Tally
    from jobs.weather.record import DailyRecord

WORKS = (20, 40)
SHARES = (0.5, 0.8, 0.9)
STARTS = (1, 15)
HORIZON = 260
SATURDAY = 5


class Case(NamedTuple):
    """A job of the record: where it starts, and the day it was done by workdays (1 is the start)."""

    day: date
    done: Mapping[int, int]


def load_record(path: Path) -> DailyRecord:
    """Read a daily record from a CSV file.

    Raises
    ------
    BadRecord
        If it cannot be opened or read, with what to do.
    """
    try:
        return record_of(path.name, path.read_bytes())
    except OSError as error:
        raise BadRecord(
            f"{path} cannot be opened", remedy="name a file of daily weather"
        ) from error


def record_of(name: str, content: bytes) -> DailyRecord:
    """Read a daily record from the bytes of a CSV file.

    Raises
    ------
    BadRecord
        If it cannot be read, with the lines that are wrong and what to do.
    """
    try:
        text = StringIO(content.decode("utf-8-sig"), newline="")
        return read_record(csv.DictReader(text))
    except (UnicodeDecodeError, csv.Error) as error:
        raise BadRecord(
            f"{name} is not a table of text", remedy="save it as CSV in UTF-8"
        ) from error


def backtest(name: str, record: DailyRecord, place: Rain | None = None) -> list[dict[str, Any]]:
    """Return one row per workdays, dry-out and model.

    Parameters
    ----------
    place
        Rain of a place's monthly figures for the model ``monthly``; without it they are counted
        from the record's other years, shares of wet days only.

    Returns
    -------
    list of dict
        ``{record, job, dryout, model, n, obs, exp, crps}``; obs and exp at P50, P80, P90.
    """
    rains = known_by_year(record, place)
    rows = []
    for dryout in DryOut:
        cases = _cases(record, dryout)
        if not cases:
            raise BadRecord("no job fits into the record", remedy="load more years")
        for model, by_year in rains.items():
            starts = [_start(case.day, by_year[case.day.year]) for case in cases]
            chances = finish_chances(starts, WORKS, dryout)
            for work in WORKS:
                kept = [n for n, case in enumerate(cases) if work in case.done]
                if kept:
                    done = [cases[n].done[work] for n in kept]
                    scored = score_chances(chances[work][kept], done, SHARES)
                    rows.append(_row((name, work, int(dryout), model), scored))
    return sorted(rows, key=lambda row: (row["job"], row["dryout"], row["model"]))


def _row(what: tuple[str, int, int, str], scored: Any) -> dict[str, Any]:
    record, work, dryout, model = what
    return {
        "record": record,
        "job": work,
        "dryout": dryout,
        "model": model,
        "n": scored.jobs,
        "obs": [round(x, 3) for x in scored.observed],
        "exp": [round(x, 3) for x in scored.expected],
        "crps": round(scored.crps, 3),
    }


def known_by_year(record: DailyRecord, place: Rain | None) -> dict[str, dict[int, Rain]]:
    """Return what each model knew of the rain in each year: nothing of that year or the next."""
    tallies = record.tallies()
    daily, monthly = {}, {}
    for year in record.years:
        others = {y: t for y, t in tallies.items() if y not in (year, year + 1)}
        daily[year] = rain_of_years(others)
        monthly[year] = place or rain_of_month_figures(_month_figures(others))
    return {"daily": daily, "monthly": monthly}


def _month_figures(years: Mapping[int, Sequence[Tally]]) -> MonthlyClimate:
    """Only what a table of monthly normals holds: wet and heavy days."""
    months = []
    for m, length in enumerate(MONTH_DAYS):
        days = sum(year[m].days for year in years.values())
        wet = sum(year[m].wet for year in years.values())
        heavy = sum(year[m].heavy for year in years.values())
        months.append(Month(20, 10, 0, wet / days * length, heavy / days * length))
    return MonthlyClimate("", "the record", "", Spot(0, 0), tuple(months))


def _cases(record: DailyRecord, dryout: DryOut) -> list[Case]:
    cases = []
    for index in range(1, len(record.days)):
        day = record.date(index)
        if day.day in STARTS:
            done = _done(record, index, dryout)
            if done:
                cases.append(Case(day, done))
    return cases


def _done(record: DailyRecord, index: int, dryout: DryOut) -> dict[int, int]:
    """Calendar day on which each number of workdays was worked; none past a day not known."""
    done: dict[int, int] = {}
    worked = 0
    before = record.days[index - 1].rain
    for day in range(HORIZON):
        if index + day >= len(record.days) or not isfinite(before):
            break
        rain = record.days[index + day].rain
        if not isfinite(rain):
            break
        lost = rain >= WET_READ_MM or before >= _costly(dryout)
        worked += record.date(index + day).weekday() < SATURDAY and not lost
        if worked in WORKS and worked not in done:
            done[worked] = day + 1
        if worked == max(WORKS):
            break
        before = rain
    return done


def _costly(dryout: DryOut) -> float:
    """Rain of the day before that costs the day."""
    return {
        DryOut.NONE: float("inf"),
        DryOut.AFTER_HEAVY: HEAVY_READ_MM,
        DryOut.AFTER_WET: WET_READ_MM,
    }[dryout]


def _start(day: date, rain: Rain) -> Start:
    dates = [day + timedelta(days=n) for n in range(-1, HORIZON)]
    return Start(rain, [season_of(d) for d in dates], [d.weekday() < SATURDAY for d in dates[1:]])
