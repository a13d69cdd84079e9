"""The pages of each yard held against the published plan: sequence, works, days, a work's own page, why the finish moved."""

from __future__ import annotations

from datetime import timedelta

from crews.models import Crew
from jobs.trade.work import INSPECTION
from tests import told_job
from tests.agreeing import days_of, local, machines, same, who

STORIES = 2
"""Works of a yard whose own pages are read each time: the next ones that are not over."""


def check_job(truth, office, job) -> None:
    """Hold every page of one yard against the plan."""
    check_sheet(truth, office, job)
    check_activities(truth, office, job)
    for on in (truth.today, truth.today - timedelta(days=1)):
        check_day(truth, office, job, on)
    check_stories(truth, office, job)
    check_ledger(truth, office, job)


def check_sheet(truth, office, job) -> None:
    """The table and a phone's list tell each work alike; one finish; what is promised."""
    told, rows = told_job.sheet(office, truth.today, job), truth.rows_of(job)
    planned = {
        row.activity.uid: told_job.Planned(
            *(_moment(at, job) for at in (row.start, row.finish)),
            " · ".join([who(row), *(machines(row) if row.crew else ())]),
            local(row.wait_until, job).date() if row.wait_until else None,
        )
        for row in rows
    }
    same("sheet", told.works.items(), planned.items())
    # A phone's list tells until when only of what is still to be done.
    listed = [
        (row.activity.uid, start, start if row.activity.finished_at else finish)
        for row in rows
        for start, finish in [(local(row.start, job).date(), local(row.finish, job).date())]
    ]
    same("list of the sheet", told.listed, listed)
    same("finish on the sheet", told.finishes, [truth.finish(job)] * 2)
    same("promise on the sheet", [told.promised], [job.promised_on])


def _moment(at, job):
    at = local(at, job)
    return at.date(), at.time().replace(second=0, microsecond=0)


def check_activities(truth, office, job) -> None:
    """The list of works: who does each of ours and when; who is not ours is no crew."""
    told = told_job.activities(office, truth.today, job)
    rows = [row for row in truth.rows_of(job) if not row.activity.retired]
    planned = {
        row.activity.uid: (local(row.start, job).date(), local(row.finish, job).date())
        for row in rows
    }
    placed = {uid: one for uid, one in told.items() if one is not None}
    same("days of works", [(uid, one[1:]) for uid, one in placed.items()], planned.items())
    ours = {row.activity.uid: row.crew_names for row in rows if row.crew}
    same("crews of works", [(uid, placed[uid][0]) for uid in ours], ours.items())
    names = {crew.name for crew in Crew.objects.all()}
    same("not ours", {one[0] for uid, one in placed.items() if uid not in ours} & names, ())


def check_day(truth, office, job, on) -> None:
    """A yard's day: who is at what from when to when; today also what should be over, and is not."""
    works, overdue = told_job.day(office, truth.today, job, on)
    rows = [row for row in truth.rows_of(job) if row.activity.skill != INSPECTION]
    wanted = [
        (one.uid, who(row), one.begins, one.ends)
        for row in rows
        for one in days_of(row)
        if one.day == on
    ]
    same(f"works on {on}", works, wanted)
    here = {uid for uid, *_ in wanted}
    late = [
        (row.activity.uid, who(row), local(row.start, job).date())
        for row in rows
        if row.finish <= truth.now and not row.activity.finished_at and row.activity.uid not in here
    ]
    same(f"planned before {on}", overdue, late if on == truth.today else ())


def check_stories(truth, office, job) -> None:
    """Some works' own pages."""
    left = [row for row in truth.rows_of(job) if not row.activity.finished_at]
    for row in sorted(left, key=lambda row: (row.start, row.pk))[:STORIES]:
        told = told_job.story(office, truth.today, job, row.activity.uid)
        start, finish = _moment(row.start, job), _moment(row.finish, job)
        same("days of a work", [told.days], [(start[0], finish[0])])
        same("hours of a work", [told.hours], [(start[1], finish[1])])
        people = f", {row.people} p" if row.crew and row.people else ""
        same("who does a work", [told.who.startswith(f"{who(row)}{people}")], [True])
        same("machines of a work", [told.machines], [", ".join(machines(row))])


def check_ledger(truth, office, job) -> None:
    """From first to today's finish, the days, the causes and the lines all come to the same."""
    told = told_job.ledger(office, truth.today, job)
    days = (told.today - told.first).days
    same("finish in the ledger", [told.today], [truth.finish(job)])
    same("days in the ledger", [told.days, told.causes, sum(told.lines)], [days] * 3)
    same("last line of the ledger", {told.ends} - {None}, {told.today} if told.lines else ())
