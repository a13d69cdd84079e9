"""What is told of promises held against the published plan and each other: safe days, odds, what the office is to do, health, JSON."""

from __future__ import annotations

from datetime import datetime, timedelta

from jobs.models import Decision, Job, Notice, Outlook, Plan
from jobs.services.pages.needs import CALL_AGAIN
from jobs.services.telling.words import say
from jobs.trade.work import OFFICE, OWNER, Sentence
from tests import told_job, told_office, told_outside, told_promises
from tests.agreeing import local, same

FORTNIGHT = timedelta(days=14)


def check_promises(truth, office) -> None:
    """Hold everything that is told of promises against the plan."""
    check_safe(truth, office)
    check_needs(truth, office)
    check_health(truth, office)


def check_needs(truth, office) -> None:
    """What the office has to call, order or decide, on the first page and in the owner's mail."""
    told = told_promises.needs(office, truth.today)
    same("needs", told, [*_outside(truth), *_asked(truth), *_hired(truth, office)])
    mailed = told_outside.needs_in(told_outside.mails(office, "evening")["Owner"], truth.today)
    same("needs in the owner's mail", mailed, [(one.word, one.day) for one in told])


def _outside(truth):
    """What is not done by a crew: requests by their first day, other paper by its last, hired people on the day they come."""
    for row in truth.rows:
        work, job = row.activity, row.activity.job
        if (
            row.crew
            or work.finished_at
            or work.skill == OWNER
            or row.start >= truth.now + FORTNIGHT
        ):
            continue
        first, last = (local(at, job).date() for at in (row.start, row.finish))
        words, word, day = work.name, "on", first
        if work.uid in truth.waits.uids:
            words, word = say(Sentence("nobody-need", {"work": work.name})), "by"
        elif work.skill == OFFICE:
            word, day = "by", first if work.detail.get("request") else last
        yield told_promises.Need(f"{job.name}: {words}", word, day)


def _asked(truth):
    """Choices owners have still to make, and further calls for utility marks."""
    limit = (truth.now + FORTNIGHT).date()
    choices = Decision.objects.filter(decided_on=None, expected_on__lt=limit)
    calls = Notice.objects.filter(sent_on=None, needed=True, ask_on__lt=limit)
    told = [(one.job, one.name, one.expected_on) for one in choices]
    told += [(one.job, CALL_AGAIN, one.ask_on) for one in calls]
    for job, words, day in told:
        if job.state in Job.OPEN:
            yield told_promises.Need(f"{job.name}: {words}", "by", day)


def _hired(truth, office):
    """Hires to order and to call off, as the machines' page tells them."""
    limit = truth.today + FORTNIGHT
    for one in told_office.hires(office, truth.today):
        if one.first > truth.today and one.order_by < limit:
            yield told_promises.Need(f"Order {one.machine}, needed from {_said(one.first, truth)}", "by", one.order_by)  # fmt: skip
        if truth.today <= one.last < limit:
            yield told_promises.Need(f"{one.machine} goes back", "on", one.last)


def _said(day, truth):
    year = "" if day.year == truth.today.year else f" {day.year}"
    return f"{day:%a} {day.day} {day:%b}{year}"


def check_safe(truth, office) -> None:
    """Safe days and even odds: one page, the first one and each sequence tell the same of the plan they are of.

    It says the odds anew where a promise came since: it is read before the others.
    """
    plan = Plan.objects.filter(state__in=("proposed", "published")).order_by("-number")[0]
    if not _said_of(plan):
        return
    told, said = told_promises.safe(office, truth.today), _said_of(plan)
    finishes = {
        row.job: local(row.finish, row.job).date() for row in plan.jobs.select_related("job")
    }
    wanted = {
        job.name: told_promises.Promise(finishes[job], *days, job.promised_on)
        for job, days in said.items()
        if job.state in Job.OPEN
    }
    same("safe to promise", told.items(), wanted.items())
    if plan == truth.plan:
        _check_told_elsewhere(truth, office, wanted)


def _check_told_elsewhere(truth, office, wanted) -> None:
    """The first page and each yard's sequence."""
    first = told_promises.promises(office, truth.today)
    for job in truth.jobs:
        sheet = told_job.sheet(office, truth.today, job)
        one = wanted.get(job.name)
        days = (one.likely, one.safe) if one else (None, None)
        same("odds on the sheet", [(sheet.likely, sheet.safe)], [days])
        same("planned on the first page", [first[job.name].planned], [truth.finish(job)])
        same("safe on the first page", [first[job.name].safe], [days[1]])
        same("promised on the first page", {first[job.name].promised} - {None, job.promised_on}, ())


def _said_of(plan):
    """Even odds and safe day of each yard, as said last of a plan; none where nothing was said."""
    rows = Outlook.objects.filter(plan=plan).select_related("job").order_by("said_at", "pk")
    return {row.job: tuple(local(at, row.job).date() for at in (row.p50, row.p80)) for row in rows}


def check_health(truth, office) -> None:
    """Works of days gone by, each told with the day it was planned for."""
    told = told_promises.health(office, truth.today)
    wanted, sure = set(), set()
    for row in truth.rows:
        work, job = row.activity, row.activity.job
        at, kind = (row.finish, "due") if work.started_at else (row.start, "begun")
        if work.finished_at is None and at < truth.now and not work.retired:
            wanted.add((work.uid, kind, local(at, job).date()))
            if local(at, job).date() < truth.today:
                sure.add((work.uid, kind, local(at, job).date()))
    past = {one for one in told if one[1] in {"begun", "due"}}
    same("health", past - wanted, ())
    same("left out by health", sure - past, ())


def check_printed(truth, told) -> None:
    """A plan as JSON is the plan that was published with it, with the odds said of it."""
    works = {
        row.activity.uid: told_promises.Printed(
            row.start,
            row.finish,
            tuple(tuple(map(datetime.fromisoformat, it[:2])) for it in row.segments),
            row.crew.slug if row.crew else None,
            tuple(row.own_machines),
            row.activity.uid in truth.waits.uids,
        )
        for row in truth.rows
    }
    same("works as JSON", told_promises.printed_works(told).items(), works.items())
    said = _said_of(truth.plan)
    jobs = {
        job.slug: told_promises.Promise(
            truth.finish(job), *said.get(job, (None, None)), job.promised_on
        )
        for job in truth.jobs
    }
    same("jobs as JSON", told_promises.printed_jobs(told).items(), jobs.items())
