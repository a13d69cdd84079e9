"""VTIMEZONE of any IANA zone: a yearly rule for each change where the zone keeps one.

Readers differ on lists of dates (RDATE) but agree on yearly rules, so rules are found in the zone's
own data: the same weekday of the same month at the same hour, year after year. A zone that keeps no
such rule gets one observance for each of its changes.
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

EARLIEST_YEAR = 1990
"""No feed looks further back; rules that are older begin here."""
EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 (DTSTART of an observance is local by RFC 5545 3.6.5)
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
DAYS_A_WEEK = 7
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Change:
    """A change of the clocks: local time just before, offsets before and after, name after."""

    local: datetime
    before: timedelta
    after: timedelta
    name: str
    summer: bool

    @property
    def weekdays(self) -> frozenset[str]:
        """The ways to tell its day by weekday: ``2SU``, and ``-1SU`` if it is the last."""
        day, word = self.local.day, WEEKDAYS[self.local.weekday()]
        ways = {f"{(day - 1) // DAYS_A_WEEK + 1}{word}"}
        if day + DAYS_A_WEEK > monthrange(self.local.year, self.local.month)[1]:
            ways.add(f"-1{word}")
        return frozenset(ways)

    @property
    def habit(self) -> tuple[object, ...]:
        """What must be alike each year, besides the weekday."""
        return self.local.month, self.local.time(), self.before, self.after, self.name, self.summer


def timezone_of(zone: str, first_year: int, last_year: int) -> Timezone:
    """Return the VTIMEZONE of an IANA zone, right for every instant of these years."""
    component = Timezone()
    component.add("tzid", zone)
    years = range(first_year - 1, last_year + 2)
    habits = _habits(zone, years)
    if habits is None:
        observances = list(_each_change(zone, years))
    else:
        observances = list(_each_habit(zone, habits, years)) or [_only(zone, years)]
    for observance in observances:
        component.add_component(observance)
    return component


def doubtful(moment: datetime, zone: ZoneInfo) -> bool:
    """Return True if the local time of an instant does not exist or happens twice."""
    local = moment.astimezone(UTC).astimezone(zone)
    if moment.tzinfo is zone and local.replace(tzinfo=None) != moment.replace(tzinfo=None):
        return True
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


@lru_cache(maxsize=2000)
def changes_in(zone: str, year: int) -> tuple[Change, ...]:
    """Return the changes of a zone's clocks in a year of UTC, in order."""
    place = ZoneInfo(zone)
    found = []
    day = datetime(year, 1, 1, tzinfo=UTC)
    while day.year == year:
        after = day + timedelta(days=1)
        if _offset(day, place) != _offset(after, place):
            found.append(_change_between(day, after, place))
        day = after
    return tuple(found)


def _offset(instant: datetime, place: ZoneInfo) -> timedelta:
    return instant.astimezone(place).utcoffset() or timedelta()


def _change_between(low: datetime, high: datetime, place: ZoneInfo) -> Change:
    """Halve the day until the minute of the change is found."""
    before = _offset(low, place)
    while high - low > MINUTE:
        middle = low + (high - low) // 2 // MINUTE * MINUTE
        low, high = (middle, high) if _offset(middle, place) == before else (low, middle)
    after = high.astimezone(place)
    return Change(
        local=(high + before).replace(tzinfo=None),
        before=before,
        after=_offset(high, place),
        name=after.tzname() or "",
        summer=bool(after.dst()),
    )


def _habits(zone: str, years: range) -> list[frozenset[str]] | None:
    """For each change of a year the weekdays that tell it in all years; None if none does."""
    pattern = changes_in(zone, years[0])
    ways = [change.weekdays for change in pattern]
    for year in years:
        changes = changes_in(zone, year)
        if [c.habit for c in changes] != [c.habit for c in pattern]:
            return None
        ways = [way & change.weekdays for way, change in zip(ways, changes, strict=True)]
    return ways if all(ways) else None


def _each_habit(
    zone: str, habits: Sequence[frozenset[str]], years: range
) -> Iterator[TimezoneStandard | TimezoneDaylight]:
    """One observance a habit, beginning in the first year that kept all of them."""
    first = years[0]
    while first > EARLIEST_YEAR and (longer := _habits(zone, range(first - 1, years[-1] + 1))):
        first, habits = first - 1, longer
    for change, ways in zip(changes_in(zone, first), habits, strict=True):
        rule = {"freq": "yearly", "bymonth": change.local.month, "byday": min(ways)}
        yield _observance(change, rule)


def _each_change(zone: str, years: range) -> Iterator[TimezoneStandard | TimezoneDaylight]:
    """One observance a change, and the one that held before the first."""
    yield _only(zone, years)
    for year in years:
        for change in changes_in(zone, year):
            yield _observance(change, None)


def _only(zone: str, years: range) -> TimezoneStandard | TimezoneDaylight:
    """The observance that holds when the years begin."""
    begin = datetime(years[0], 1, 1, tzinfo=UTC).astimezone(ZoneInfo(zone))
    offset = begin.utcoffset() or timedelta()
    return _observance(
        Change(EPOCH, offset, offset, begin.tzname() or "", summer=bool(begin.dst())), None
    )


def _observance(
    change: Change, rule: dict[str, object] | None
) -> TimezoneStandard | TimezoneDaylight:
    component = TimezoneDaylight() if change.summer else TimezoneStandard()
    component.add("dtstart", change.local)
    if rule is not None:
        component.add("rrule", rule)
    component.add("tzoffsetfrom", change.before)
    component.add("tzoffsetto", change.after)
    component.add("tzname", change.name)
    return component
