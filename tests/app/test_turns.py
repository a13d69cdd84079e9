"""Whoever changes what phones show holds the company's row before any other, as accepting does."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db.models import QuerySet

from jobs.models import Company, DayLog, Job
from jobs.services.company.stage import Stage, set_stage
from jobs.services.day.log_day import Said, log_day
from jobs.services.day.take_back_line import take_back_line
from jobs.services.history import Who
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.scope.items import change_item
from jobs.services.storm.happened import pause
from tests.office import NOW

pytestmark = pytest.mark.django_db

WHO = Who("test", NOW)


def log_first(job: Job) -> DayLog:
    """Say that the first work is done."""
    work = job.activities.filter(plan_rows__isnull=False).order_by("plan_rows__start").first()
    return log_day(Said(uuid4(), work, NOW.date(), DayLog.Kind.DONE, NOW), by="test", now=NOW)


def take_back(job: Job) -> None:
    """Take a line back that was written before."""
    take_back_line(log_first(job), by="test", now=NOW)


def change_first(job: Job) -> None:
    """Answer an item's questions as they were answered."""
    item = job.items.all()[0]
    change_item(item, item.answers, revision=item.revision, by="test", now=NOW)


def rest(job: Job) -> None:
    """Let it rest for three weeks."""
    pause(job, NOW.date(), NOW.date() + timedelta(days=21), "", WHO)


def close(job: Job) -> None:
    """Hand it over."""
    set_stage(job, Stage(Job.State.CLOSED), WHO, revision=job.revision)


def publish(job: Job) -> None:
    """Plan and publish."""
    accept_plan(plan_jobs(now=NOW, by="test").plan, by="test", now=NOW)


@pytest.mark.parametrize("act", [log_first, take_back, change_first, rest, close, publish])
def test_the_company_is_held_first(published_job, monkeypatch, act):
    """In one order nobody waits for somebody who waits for him."""
    held: list[type] = []
    lock = QuerySet.select_for_update

    def noted(rows: QuerySet, *args: object, **told: object) -> QuerySet:
        held.append(rows.model)
        return lock(rows, *args, **told)

    monkeypatch.setattr(QuerySet, "select_for_update", noted)
    act(published_job)
    assert held[0] is Company
