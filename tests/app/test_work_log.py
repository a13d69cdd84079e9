"""The day log of a work: what was done becomes fact, and is only ever added to."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from jobs.models import DayLog, Job, LostTime, Plan
from jobs.services.day.log_day import LogRefusedError, Said, log_day
from tests.office import NOW, published_yard
from tests.storms import BY, EASTERN

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published; its first work with a crew is the day that gets rained out."""
    return published_yard()


class TestDayLog:
    """What was done becomes fact; the log is only ever added to."""

    @pytest.fixture
    def row(self, job):
        """The first work with a crew, and the evening after it."""
        return (
            Plan.objects.get(state="published").rows.filter(crew__isnull=False).order_by("start")[0]
        )

    def said(self, row, kind, **more):
        """Something said of a work on its first day."""
        return Said(
            more.pop("client", uuid4()),
            row.activity,
            row.start.astimezone(EASTERN).date(),
            kind,
            row.finish,
            **more,
        )

    def test_started_then_part_way_then_done(self, row):
        """Start and finish are those planned, the crew is the plan's."""
        evening = row.finish + timedelta(hours=4)
        log_day(self.said(row, "started"), by=BY, now=evening)
        log_day(self.said(row, "part-way", share=40), by=BY, now=evening)
        activity = row.activity
        activity.refresh_from_db()
        assert (activity.started_at, activity.done_share, activity.done_crew) == (
            row.start,
            40,
            row.crew,
        )
        log_day(self.said(row, "done"), by=BY, now=evening)
        activity.refresh_from_db()
        assert (activity.finished_at, activity.done_share) == (row.finish, 100)
        assert [line.kind for line in DayLog.objects.order_by("pk")] == [
            "started",
            "part-way",
            "done",
        ]

    def test_a_quantity_is_a_share(self, row):
        """A quarter of it in its own unit."""
        quarter = row.activity.quantity / 4
        line = log_day(self.said(row, "part-way", quantity=quarter), by=BY, now=row.finish)
        assert line.share == 25

    def test_the_same_tap_sent_twice_counts_once(self, row):
        """By the uuid made on the phone."""
        client = uuid4()
        lines = [
            log_day(self.said(row, "started", client=client), by=BY, now=row.finish)
            for _ in range(2)
        ]
        assert lines[0] == lines[1]
        assert DayLog.objects.count() == 1

    def test_not_today_for_a_reason_is_time_lost_to_that_work(self, row):
        """The rest of the yard goes on."""
        log_day(self.said(row, "not-today", cause="wind", note="gusts"), by=BY, now=row.start)
        lost = LostTime.objects.get()
        assert (lost.activity, lost.cause, lost.why) == (row.activity, "wind", "gusts")
        row.activity.refresh_from_db()
        assert row.activity.started_at is None

    @pytest.mark.parametrize(
        ("kind", "more", "told"),
        [("part-way", {}, "1 to 99"), ("part-way", {"share": 100}, "1 to 99")],
    )
    def test_a_share_that_is_none_is_refused(self, row, kind, more, told):
        """Nothing is written."""
        with pytest.raises(LogRefusedError, match=told):
            log_day(self.said(row, kind, **more), by=BY, now=row.finish)
        assert DayLog.objects.count() == 0

    def test_tomorrow_cannot_be_logged_today(self, row):
        """It is yet to come."""
        with pytest.raises(LogRefusedError, match="yet to come"):
            log_day(self.said(row, "done"), by=BY, now=NOW)

    def test_what_is_done_is_done(self, row):
        """A note may follow, nothing else."""
        log_day(self.said(row, "done"), by=BY, now=row.finish)
        with pytest.raises(LogRefusedError, match="done before"):
            log_day(self.said(row, "started"), by=BY, now=row.finish)
        log_day(self.said(row, "note", note="swept"), by=BY, now=row.finish)
        assert DayLog.objects.count() == 2
