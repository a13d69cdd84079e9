"""The law's clock before digging: when marks are good, until when, and when to ask again.

Business days leave out Saturdays, Sundays and the holidays handed in; where the day of the request does
not count, the count begins on the next business day at midnight, and digging on the business day after
the last. The ticket states the legal start: it overrules every date here, and every operator's answer
is waited for.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, NamedTuple

from .errors import TradeError

if TYPE_CHECKING:
    from collections.abc import Mapping, Set

    from .library import NoticeRule

WEEKEND = 5
MIDNIGHT = time(0)
HOURS_A_DAY = 24
UNKNOWN = "XX"
TOO_EARLY = "the notice is too early for this start"
FULL_DAYS = frozenset({"SC"})
"""States whose most notice is in *full* working days, which lie between request and start; elsewhere
the careful reading holds: the last of the business days is the last to start."""
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


class Ticket(NamedTuple):
    """A request and what the law makes of it.

    Attributes
    ----------
    good_from
        First instant that may be dug.
    latest_start
        Last day work may start under this request, None where the law sets none.
    expires
        Last day the marks are good, None where not known.
    renew_by
        Day by which it is asked again if digging goes on.
    """

    asked: datetime
    good_from: datetime
    latest_start: date | None
    expires: date | None
    renew_by: date | None


def rule_of(state: str, notices: Mapping[str, NoticeRule]) -> NoticeRule:
    """Return a state's rule, or the careful one for states not known (three business days)."""
    return notices.get(state.upper()) or notices[UNKNOWN]


def rule_for(
    state: str, options: Mapping[str, str], notices: Mapping[str, NoticeRule]
) -> NoticeRule:
    """Return the rule a yard goes by: its state's, with the longer notice some ask for near lines under water.

    Parameters
    ----------
    options
        Answers of the yard as a whole; ``water`` says if such lines are near.
    """
    rule = rule_of(state, notices)
    if options.get("water") != "yes":
        return rule
    least, earliest = rule.water_least or rule.least, rule.water_earliest or rule.earliest
    return replace(rule, least=least, earliest=earliest)


def is_assumed(rule: NoticeRule) -> bool:
    """Return True if nobody looked up this state: ask its notice centre."""
    return rule.state == UNKNOWN


def ticket(
    asked: datetime,
    rule: NoticeRule,
    holidays: Set[date],
    *,
    start: date | None = None,
) -> Ticket:
    """Return what a request made at some local time allows.

    Parameters
    ----------
    asked
        Local time of the request, without a zone.
    start
        Day work starts, for states that count the life from it; the first day allowed otherwise.

    Worked: South Carolina, asked Monday 8 June: Tuesday to Thursday count, dig on Friday 12 June.
    """
    good = good_from(asked, rule, holidays)
    begins = start or good.date()
    ends = _expires(asked.date(), good, begins, rule, holidays)
    renew = None if ends is None else _back(ends, rule.renew_bd, holidays)
    return Ticket(asked, good, _latest(asked.date(), rule, holidays), ends, renew)


def good_from(asked: datetime, rule: NoticeRule, holidays: Set[date]) -> datetime:
    """Return the first instant that may be dug after a request."""
    if rule.unit == "h":
        return _after_hours(asked, rule.least, rule, holidays)
    day = asked.date()
    if _late(asked, rule):
        day = add_business_days(day, 1, holidays)
    return datetime.combine(add_business_days(day, rule.least + 1, holidays), MIDNIGHT)


def ask_by(dig: date, rule: NoticeRule, holidays: Set[date]) -> date:
    """Return the last business day on which asking still lets work start on a day.

    Raises
    ------
    TradeError
        If no day in the four weeks before will do.
    """
    for back in range(1, 29):
        day = dig - timedelta(days=back)
        if not is_business(day, holidays):
            continue
        noon = datetime.combine(day, time(12))
        if good_from(noon, rule, holidays) <= datetime.combine(dig, time(7)):
            return day
    raise TradeError(f"no notice lets work start on {dig:%d %b %Y}", remedy="start another day")


def allows(start: date, given: Ticket) -> str:
    """Return why work may not start on a day under a ticket; empty if it may."""
    if start < given.good_from.date():
        return "the notice has not run yet"
    if given.latest_start is not None and start > given.latest_start:
        return TOO_EARLY
    if given.expires is not None and start > given.expires:
        return "the marks have run out"
    return ""


def business_days(rule: NoticeRule) -> int:
    """Return the least notice in whole business days: 48 hours are two."""
    return rule.least if rule.unit == "bd" else -(-rule.least // HOURS_A_DAY)


# -- business days ---------------------------------------------------------------------


def is_business(day: date, holidays: Set[date]) -> bool:
    """Return True on Monday to Friday that is no holiday."""
    return day.weekday() < WEEKEND and day not in holidays


def add_business_days(day: date, count: int, holidays: Set[date]) -> date:
    """Return the count-th business day after a day."""
    while count > 0:
        day += timedelta(days=1)
        count -= is_business(day, holidays)
    return day


def _back(day: date, count: int, holidays: Set[date]) -> date:
    while count > 0:
        day -= timedelta(days=1)
        count -= is_business(day, holidays)
    return day


def _late(asked: datetime, rule: NoticeRule) -> bool:
    return bool(rule.cutoff) and asked.time() > time.fromisoformat(rule.cutoff)


# -- hours -----------------------------------------------------------------------------


def _after_hours(asked: datetime, hours: int, rule: NoticeRule, holidays: Set[date]) -> datetime:
    """Add hours that run on business days only; a request on Saturday may have its own hour."""
    if rule.saturday and asked.weekday() == WEEKEND:
        return _saturday(asked.date(), rule.saturday, holidays)
    begins = asked
    if not is_business(asked.date(), holidays):
        begins = datetime.combine(add_business_days(asked.date(), 1, holidays), MIDNIGHT)
    whole, rest = divmod(hours, HOURS_A_DAY)
    day = add_business_days(begins.date(), whole, holidays)
    later = datetime.combine(day, begins.time()) + timedelta(hours=rest)
    if is_business(later.date(), holidays):
        return later
    return datetime.combine(add_business_days(later.date(), 1, holidays), later.time())


def _saturday(asked: date, ripens: str, holidays: Set[date]) -> datetime:
    """Texas: Tuesday 11:59, a day later if the Monday between is a holiday (Util. Code 251.151)."""
    name, _, clock = ripens.partition(" ")
    day = asked + timedelta(days=(WEEKDAYS.index(name) - asked.weekday()) % 7)
    monday = asked + timedelta(days=2)
    day += timedelta(days=monday in holidays)
    return datetime.combine(day, time.fromisoformat(clock))


# -- earliest and life -----------------------------------------------------------------


def _latest(asked: date, rule: NoticeRule, holidays: Set[date]) -> date | None:
    if rule.earliest is None:
        return None
    if rule.earliest_unit == "bd":
        return add_business_days(asked, rule.earliest + (rule.state in FULL_DAYS), holidays)
    return asked + timedelta(days=rule.earliest)


def _expires(
    asked: date, good: datetime, start: date, rule: NoticeRule, holidays: Set[date]
) -> date | None:
    if rule.life is None:
        return None
    due = _back(good.date(), 1, holidays)
    begins = {"request": asked, "due": due, "start": start}[rule.life_from]
    if rule.life_unit == "bd":
        return add_business_days(begins, rule.life, holidays)
    return begins + timedelta(days=rule.life)
