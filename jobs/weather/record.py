"""A station's own daily record: read defensively, counted by month and year.

Columns ``date, precip_mm`` and, where known, ``tmax_c, tmin_c``; one row a day, blank is missing.
A missing day is never a dry one: it leaves its month's count and both its pairs.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import isfinite, isnan, nan
from statistics import correlation, fmean, pstdev
from typing import TYPE_CHECKING, NamedTuple

from .errors import BadRecord
from .rain import Tally
from .temperature import Swing

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

WET_READ_MM, HEAVY_READ_MM = 2.5, 12.7
"""0.10 and 0.50 in as they read in records kept in tenths of a millimetre."""
MOST_RAIN_MM = 1900.0
"""More has never been measured in a day (WMO archive: 1,825 mm, Reunion 1966, from memory)."""
LEAST_DAYS = 5 * 365
"""Days known from which a record speaks for a place: five years."""
FIRST_YEAR, LAST_YEAR = 1700, 2200
"""A date outside is a slip."""
MOST_TOLD = 5
"""Lines of a file named in one fault."""
BLANK = frozenset({"", "nan", "na", "m"})
"""How records write a figure that nobody has."""
LEAST_AIR_DAYS = 100
"""Days of a month, over all years, from which its temperatures speak for it."""


class Day(NamedTuple):
    """One day: millimetres of rain, highest and lowest temperature; nan where missing."""

    rain: float
    tmax: float
    tmin: float


MISSING = Day(nan, nan, nan)


@dataclass(frozen=True, slots=True)
class DailyRecord:
    """Contiguous days from ``first``, with what was odd about the file it came from.

    Attributes
    ----------
    days
        One entry per calendar day, missing ones too.
    remarks
        What was left out or repaired, for the person who loaded it.
    """

    first: date
    days: tuple[Day, ...]
    remarks: tuple[str, ...] = ()

    @property
    def missing(self) -> int:
        """Days whose rain is not known."""
        return sum(day.rain != day.rain for day in self.days)

    @property
    def years(self) -> range:
        """Calendar years it touches."""
        return range(self.first.year, self.date(len(self.days) - 1).year + 1)

    def date(self, index: int) -> date:
        """Date of an entry."""
        return self.first + timedelta(days=index)

    def air(self) -> tuple[tuple[float, ...], tuple[float, ...], tuple[Swing, ...]] | None:
        """Return mean highs, mean lows and swings of the twelve months; None if a month lacks days."""
        months = [
            [
                (i, d)
                for i, d in enumerate(self.days)
                if self.date(i).month == m and d.tmax == d.tmax
            ]
            for m in range(1, 13)
        ]
        if min(map(len, months)) < LEAST_AIR_DAYS:
            return None
        highs = tuple(fmean(day.tmax for _, day in month) for month in months)
        lows = tuple(fmean(day.tmin for _, day in month) for month in months)
        return highs, lows, tuple(map(_swing, months))

    def tallies(self) -> dict[int, tuple[Tally, ...]]:
        """Return counts by year and month; a pair belongs to its second day.

        Pairs over the turn of the year are not counted, so that a year left out leaves no trace.
        """
        counts: dict[tuple[int, int], list[int]] = {}
        before = nan
        for index, day in enumerate(self.days):
            when = self.date(index)
            before = before if (when.month, when.day) != (1, 1) else nan
            _count(counts.setdefault((when.year, when.month), [0] * 7), before, day.rain)
            before = day.rain
        return {
            year: tuple(Tally(*counts.get((year, month), ())) for month in range(1, 13))
            for year in self.years
        }


def _swing(month: Sequence[tuple[int, Day]]) -> Swing:
    """How far days of a month lie from its mean, and how much a day's high remembers of the day before."""
    known = dict(month)
    pairs = [(day.tmax, known[i + 1].tmax) for i, day in month if i + 1 in known]
    high, low = (pstdev(getattr(day, name) for _, day in month) for name in ("tmax", "tmin"))
    memory = correlation(*zip(*pairs, strict=True)) if high and len(pairs) > 1 else 0.0
    return Swing(high, low, min(0.99, max(0.0, memory)))


def _count(row: list[int], before: float, rain: float) -> None:
    if not isfinite(rain):
        return
    wet = rain >= WET_READ_MM
    row[0] += 1
    row[1] += wet
    row[2] += rain >= HEAVY_READ_MM
    if isfinite(before):
        at = 5 if before >= WET_READ_MM else 3
        row[at] += 1
        row[at + 1] += wet


def read_record(rows: Iterable[Mapping[str, str | None]]) -> DailyRecord:
    """Return the record of some rows of text.

    Days out of order are sorted, days given twice keep the first, impossible figures count as
    missing; each is remarked.

    Raises
    ------
    BadRecord
        If a column is missing, a date cannot be read, or there are less than five years of days.
    """
    found: dict[date, Day] = {}
    twice, odd, wrong = 0, [], []
    for number, row in enumerate(rows, start=2):
        try:
            when = _date(row, number)
        except BadRecord as error:
            wrong.append(error)
            continue
        day, strange = _day(row)
        odd += [number] * strange
        if when in found:
            twice += 1
        else:
            found[when] = day
    if wrong:
        raise _all_wrong(wrong)
    if not found:
        raise BadRecord("the record holds no days", remedy="give a row for each day")
    first, last = min(found), max(found)
    days = tuple(
        found.get(first + timedelta(days=n), MISSING) for n in range((last - first).days + 1)
    )
    record = DailyRecord(first, days, tuple(_remarks(twice, odd, list(found) != sorted(found))))
    known = len(days) - record.missing
    if known < LEAST_DAYS:
        raise BadRecord(
            f"the record knows the rain of {known} days", remedy="load five years or more"
        )
    return record


def _all_wrong(wrong: Sequence[BadRecord]) -> BadRecord:
    """The first lines that are wrong, told together, and how many more there are."""
    told = list(dict.fromkeys(error.reason for error in wrong))
    more = f"; and {len(told) - MOST_TOLD} lines more" if len(told) > MOST_TOLD else ""
    return BadRecord("; ".join(told[:MOST_TOLD]) + more, remedy=wrong[0].remedy)


def _remarks(twice: int, odd: Sequence[int], unsorted: bool) -> Iterator[str]:  # noqa: FBT001 - a count of one
    if twice:
        yield f"{twice} days stand there twice; the first was kept"
    if odd:
        lines = ", ".join(map(str, dict.fromkeys(odd[:MOST_TOLD])))
        more = " and others" if len(odd) > MOST_TOLD else ""
        yield f"{len(odd)} figures cannot be and count as missing (line {lines}{more})"
    if unsorted:
        yield "the days were not in order and were sorted"


def _date(row: Mapping[str, str | None], number: int) -> date:
    if "date" not in row or "precip_mm" not in row:
        raise BadRecord(
            "the record needs the columns date and precip_mm",
            remedy="name them in the first line: date,tmax_c,tmin_c,precip_mm",
        )
    try:
        when = date.fromisoformat((row["date"] or "").strip())
    except ValueError:
        raise BadRecord(
            f"line {number} has no date: {(row['date'] or '')[:20]!r}",
            remedy="write dates as 2015-06-30",
        ) from None
    if not FIRST_YEAR <= when.year <= LAST_YEAR:
        raise BadRecord(f"line {number} is of the year {when.year}", remedy="mend the date")
    return when


def _day(row: Mapping[str, str | None]) -> tuple[Day, int]:
    """Read a row; figures that cannot be are missing and counted."""
    told = [(row.get(name) or "").strip() for name in ("precip_mm", "tmax_c", "tmin_c")]
    rain, high, low = map(_number, told)
    odd = sum(text.casefold() not in BLANK and isnan(_number(text)) for text in told)
    if rain < 0 or rain > MOST_RAIN_MM:
        rain, odd = nan, odd + 1
    if high < low or abs(high) > 60 or abs(low) > 90:  # noqa: PLR2004 - no such air on earth
        high, low, odd = nan, nan, odd + 1
    return Day(rain, high, low), odd


def _number(text: str) -> float:
    try:
        number = float(text or "nan")
    except ValueError:
        return nan
    return number if isfinite(number) else nan
