"""The law's notice before digging, state by state. 8 June 2026 is a Monday, 7 September Labor Day."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from jobs.trade.errors import TradeError
from jobs.trade.notices import (
    Ticket,
    allows,
    ask_by,
    business_days,
    is_assumed,
    rule_for,
    rule_of,
    ticket,
)
from tests.yards import library

HOLIDAYS = frozenset({date(2026, 7, 3), date(2026, 9, 7)})


def asked(state: str, moment: datetime, *, start: date | None = None, water: str = "no") -> Ticket:
    """Return the ticket of a request in a state."""
    rule = rule_for(state, {"water": water}, library().notices)
    return ticket(moment, rule, HOLIDAYS, start=start)


def at(month: int, day: int, hour: int = 9, minute: int = 0) -> datetime:
    """Return a local moment of 2026."""
    return datetime(2026, month, day, hour, minute)  # noqa: DTZ001 - the local clock of the office


def test_south_carolina_counts_three_full_working_days() -> None:
    """Asked Monday 8 June, dug Friday 12 June. Source: S.C. Code 58-36-60(A)(1)."""
    assert asked("SC", at(6, 8)).good_from == at(6, 12, 0)


def test_south_carolina_leaves_labor_day_out() -> None:
    """Asked Thursday 3 September, dug Thursday 10. Source: S.C. Code 58-36-60(A)(1)."""
    assert asked("SC", at(9, 3)).good_from == at(9, 10, 0)


def test_south_carolina_may_not_be_asked_too_early() -> None:
    """Asked Monday 13 July, start no later than Thursday 30. Source: 58-36-60 of 22 May 2026."""
    given = asked("SC", at(7, 13))
    assert given.latest_start == date(2026, 7, 30)
    assert allows(date(2026, 7, 31), given) == "the notice is too early for this start"


def test_south_carolina_s_marks_live_fifteen_working_days() -> None:
    """Start in the notice Friday 17 July, good to the end of Friday 7 August. Source: 58-36-60(B)."""
    assert asked("SC", at(7, 13), start=date(2026, 7, 17)).expires == date(2026, 8, 7)


def test_south_carolina_under_water() -> None:
    """Ten full working days at least, twenty at most. Source: 58-36-60(A)(1).

    Asked Monday 8 June: 9 to 12, 15 to 19 and 22 June count, dug on the 23rd; twenty end on 7 July,
    for 3 July is kept as a holiday, so the last day to start is the 8th.
    """
    given = asked("SC", at(6, 8), water="yes")
    assert (given.good_from, given.latest_start) == (at(6, 23, 0), date(2026, 7, 8))


@pytest.mark.parametrize(
    ("moment", "good"),
    [
        (at(6, 10, 10), at(6, 12, 10)),
        (at(6, 12, 14), at(6, 16, 14)),
        (at(6, 13, 10), at(6, 16, 11, 59)),
        (at(9, 5, 10), at(9, 9, 11, 59)),
    ],
    ids=["plain", "over a weekend", "Saturday", "Saturday before a holiday Monday"],
)
def test_texas_counts_hours(moment: datetime, good: datetime) -> None:
    """48 hours without weekends and holidays. Source: Tex. Util. Code 251.151(a), (b)."""
    assert asked("TX", moment).good_from == good


def test_texas_refuses_a_start_after_the_fourteenth_day() -> None:
    """Asked 10 June: 24 June may still start, 25 June not. Source: 251.151(a)."""
    given = asked("TX", at(6, 10, 10))
    assert allows(date(2026, 6, 24), given) == ""
    assert allows(date(2026, 6, 25), given) == "the notice is too early for this start"


def test_colorado() -> None:
    """Asked Monday 8 June, dug from Thursday 11; marks good to Friday 10 July.

    Source: C.R.S. 9-1.5-103, (4)(b) for thirty days after the due date, Wednesday 10 June.
    """
    given = asked("CO", at(6, 8))
    assert (given.good_from, given.expires) == (at(6, 11, 0), date(2026, 7, 10))


def test_california() -> None:
    """Asked Friday 12 June, dug Wednesday 17; fourteen days ahead at most, good for 28.

    Source: Gov. Code 4216.2 (summary).
    """
    given = asked("CA", at(6, 12))
    assert given.good_from == at(6, 17, 0)
    assert (given.latest_start, given.expires) == (date(2026, 6, 26), date(2026, 7, 10))


def test_florida() -> None:
    """Asked Thursday 11 June, dug Tuesday 16. Source: state notice centre; F.S. 556.105."""
    assert asked("FL", at(6, 11)).good_from == at(6, 16, 0)


def test_kansas() -> None:
    """Asked Monday 8 June: not before the 11th, not after the 23rd; fifteen days from the start.

    Source: K.S.A. 66-1804.
    """
    given = asked("KS", at(6, 8), start=date(2026, 6, 15))
    assert (given.good_from, given.latest_start) == (at(6, 11, 0), date(2026, 6, 23))
    assert given.expires == date(2026, 6, 30)


@pytest.mark.parametrize(
    ("state", "least", "latest"),
    [
        ("NV", 2, date(2026, 7, 6)),
        ("WA", 2, date(2026, 6, 22)),
        ("TN", 3, date(2026, 6, 22)),
        ("AL", 2, date(2026, 6, 22)),
    ],
)
def test_least_and_most_notice(state: str, least: int, latest: date) -> None:
    """Asked Monday 8 June 2026: least working days, last day to start.

    Sources: NRS 455.110(1)(a), at most 28 calendar days; RCW 19.122.030(2), at most 10 business
    days; T.C.A. 65-31-106, at most 10; Ala. Code 37-15, at most 10.
    """
    assert business_days(rule_of(state, library().notices)) == least
    assert asked(state, at(6, 8)).latest_start == latest


def test_tennessee_renews_three_days_before_the_end() -> None:
    """Start Monday 15 June: good to Tuesday 30 June, asked again by Thursday 25. T.C.A. 65-31-106."""
    given = asked("TN", at(6, 8), start=date(2026, 6, 15))
    assert (given.expires, given.renew_by) == (date(2026, 6, 30), date(2026, 6, 25))


def test_utah_counts_hours() -> None:
    """Asked Monday 8 June 9:00, dug from Wednesday 9:00, within fourteen days.

    Source: Utah Code 54-8a-4 (older text; may be changed).
    """
    given = asked("UT", at(6, 8, 9))
    assert (given.good_from, given.latest_start) == (at(6, 10, 9), date(2026, 6, 22))


def test_north_carolina() -> None:
    """Asked Monday 8 June, dug Friday 12. Source: G.S. 87-122 (three full working days)."""
    assert asked("NC", at(6, 8)).good_from == at(6, 12, 0)


@pytest.mark.parametrize(("hour", "good"), [(10, at(6, 11, 0)), (17, at(6, 12, 0))])
def test_georgia_counts_a_late_call_as_the_next_day(hour: int, good: datetime) -> None:
    """Before 16:30 dug on Thursday, after it on Friday; good for 21 calendar days.

    Source: O.C.G.A. 25-9-7 and notice centre; life secondary.
    """
    given = asked("GA", at(6, 8, hour))
    assert (given.good_from, given.expires) == (good, date(2026, 6, 29))


def test_alabama_s_marks_live_twenty_working_days() -> None:
    """Asked Monday 8 June: twenty working days, 3 July left out, end on 7 July. Ala. Code 37-15."""
    assert asked("AL", at(6, 8)).expires == date(2026, 7, 7)


def test_a_state_nobody_looked_up_gets_the_careful_rule() -> None:
    """Three business days, day not counted, and flagged (common practice)."""
    rule = rule_of("ZZ", library().notices)
    assert is_assumed(rule)
    assert (rule.least, rule.unit) == (3, "bd")
    assert not is_assumed(rule_of("nc", library().notices))


def test_a_call_is_worked_back_from_the_day_of_digging() -> None:
    """To dig in North Carolina on Friday 12 June, ask on Monday 8 at the latest."""
    rule = rule_of("NC", library().notices)
    assert ask_by(date(2026, 6, 12), rule, HOLIDAYS) == date(2026, 6, 8)
    assert ask_by(date(2026, 9, 10), rule, HOLIDAYS) == date(2026, 9, 3)


def test_no_call_helps_if_nothing_is_a_business_day() -> None:
    """Four weeks of holidays: refused, with what to do."""
    shut = frozenset(date(2026, 5, 1) + timedelta(days=n) for n in range(60))
    with pytest.raises(TradeError, match="no notice lets work start"):
        ask_by(date(2026, 6, 12), rule_of("NC", library().notices), shut)


def test_work_may_not_start_before_the_notice_has_run_nor_after_the_marks() -> None:
    """North Carolina, asked 8 June: not on the 11th, on the 12th, not on 30 June."""
    given = asked("NC", at(6, 8))
    assert allows(date(2026, 6, 11), given) == "the notice has not run yet"
    assert allows(date(2026, 6, 12), given) == ""
    stale = given._replace(latest_start=None)
    assert allows(date(2026, 6, 30), stale) == "the marks have run out"
