"""Marks have a legal life: a plan that digs longer asks again in time."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from jobs.models import Activity, Notice, PlanRow
from jobs.services.numbers.library import current_library
from jobs.services.planning.tickets import renewals, write_notices
from tests.office import open_office, published_plan, signed_in, small_job

MONDAY = datetime.fromisoformat("2026-06-08T09:00")


def asked_again(state: str, *digs: date) -> list[tuple[date, date | None]]:
    """Day of each later call and the last day its marks are good."""
    rule = current_library().notices[state]
    return [(t.asked.date(), t.expires) for t in renewals(MONDAY, digs, rule, frozenset())]


def test_digging_within_the_life_asks_once():
    """North Carolina: 15 working days from Monday 8 June run to Monday 29 June (G.S. 87-122)."""
    assert asked_again("NC", date(2026, 6, 12), date(2026, 6, 29)) == []


def test_a_call_too_long_ahead_is_made_again_in_time():
    """South Carolina: asked Monday 8 June, start by Thursday 25 June (12 full working days, 58-36-60).

    Dug from Thursday 2 July it is asked again on Friday 26 June, three full working days before.
    """
    assert asked_again("SC", date(2026, 6, 25)) == []
    (again, *_) = asked_again("SC", date(2026, 7, 2))
    assert again[0] == date(2026, 6, 26)


def test_after_weeks_of_closed_days_the_first_call_is_kept():
    """Nothing but holidays from 9 June to 31 July: no later call would do before 3 August."""
    shut = frozenset(date(2026, 6, 9) + timedelta(days=n) for n in range(53))
    rule, dig = current_library().notices["SC"], date(2026, 8, 3)
    assert [t.asked.date() for t in renewals(MONDAY, [dig], rule, shut)] == []


def test_digging_after_it_asks_again_three_business_days_before():
    """Wednesday 24 June, so that the new marks are good when the old ones end."""
    (again,) = asked_again("NC", date(2026, 6, 12), date(2026, 7, 2))
    assert again == (date(2026, 6, 24), date(2026, 7, 15))


def test_long_digging_asks_as_often_as_it_must():
    """Every ticket is renewed before it ends, none is missing in between."""
    calls = asked_again("NC", date(2026, 6, 12), date(2026, 8, 28))
    assert len(calls) == 4
    ends = [date(2026, 6, 29), *(ends for _, ends in calls)]
    assert all(asked < before for (asked, _), before in zip(calls, ends, strict=False))
    assert ends[-1] >= date(2026, 8, 28)


@pytest.mark.django_db
def test_every_day_of_digging_counts_not_only_the_first():
    """A dig that is begun within the life of the marks, and goes on in August, needs further calls."""
    open_office()
    small_job()
    plan = published_plan()
    row = plan.rows.select_related("activity").get(activity__template="dig-out")
    assert write_notices(plan) == 0
    first, august = row.segments[0], [f"2026-08-03T{hour}:00:00-04:00" for hour in ("07", "15")]
    row.segments = [first, [*august, True]]
    row.save()
    assert write_notices(plan) > 0


@pytest.mark.django_db
def test_publishing_keeps_the_calls_a_plan_needs():
    """A dig two months later needs further calls; they stand on the first screen."""
    open_office()
    small_job()
    plan = published_plan()
    assert Notice.objects.count() == 0
    activity = Activity.objects.get(template="dg-path")
    activity.template = "dig-out"
    activity.save()
    row = PlanRow.objects.get(activity=activity)
    row.start, row.finish = (moment.replace(month=8, day=3) for moment in (row.start, row.finish))
    row.segments = [[row.start.isoformat(), row.finish.isoformat(), True]]
    row.save()
    needed = write_notices(plan)
    assert needed == Notice.objects.count() > 0
    notice = Notice.objects.earliest("ask_on")
    notice.ask_on = date(2026, 6, 20)
    notice.save()
    assert "Call again for utility marks" in signed_in().get("/").content.decode()
