"""The office's pages held against the published plan: the first one, three weeks, crews, machines, plan, jobs."""

from __future__ import annotations

from datetime import timedelta

from crews.models import Crew, Machine, TimeOff
from jobs.models import Plan
from tests import told_office
from tests.agreeing import local, same
from tests.page_tree import days_from

WEEKS = 3
FORTNIGHT = timedelta(days=14)
A_YEAR, DAY, SATURDAY = 366, timedelta(days=1), 5


def check_office(truth, office) -> None:
    """Hold every page of the office against the plan."""
    check_first_page(truth, office)
    check_weeks(truth, office)
    check_crews(truth, office)
    check_hires(truth, office)
    check_jobs(truth, office)


def check_first_page(truth, office) -> None:
    """The next working day, who is where on it from when with what, the planned finish of each yard."""
    told = told_office.tomorrow(office, truth.today)
    day = truth.following(truth.days)
    same("tomorrow's day", [told.day], [day])
    wanted = [
        told_office.Stand(crew.slug, one.uid, one.begins, ", ".join(one.machines()).lower())
        for one in truth.days
        for crew in one.crews
        if one.day == day and crew.active
    ]
    same("tomorrow", told.stands, wanted)
    same("tomorrow's promises", told.finishes.items(), _finishes(truth))


def _finishes(truth):
    return [(job.name, truth.finish(job)) for job in truth.jobs]


def check_jobs(truth, office) -> None:
    """The plan page and the list of jobs: each finish and promise; what runs; what is next is to come and not done."""
    planned, _ = told_office.plan(office, truth.today)
    listed = told_office.jobs(office, truth.today)
    names = [job.name for job in truth.jobs]
    same("finishes on the plan page", [(name, planned[name]) for name in names], _finishes(truth))
    same("finishes of jobs", [(name, listed[name].finish) for name in names], _finishes(truth))
    promised = [(job.name, job.promised_on) for job in truth.jobs]
    same("promises of jobs", [(name, listed[name].promised) for name in names], promised)
    for job in truth.jobs:
        running = [
            row.activity.name
            for row in truth.rows_of(job)
            if row.crew and row.start <= truth.now < row.finish and not row.activity.finished_at
        ]
        same("what runs at a job", [listed[job.name].running], [", ".join(running)])
        rows = [row for row in truth.rows_of(job) if row.crew and row.start > truth.now]
        days = [local(row.start, job).date() for row in rows if not row.activity.finished_at]
        same("next of a job", [listed[job.name].upcoming], [min(days, default=None)])


def check_weeks(truth, office) -> None:
    """Where everybody is, nine weeks from this one, whole days and hours."""
    monday = truth.today - timedelta(days=truth.today.weekday())
    ours = {crew.name for crew in Crew.objects.all()}
    names = dict(Machine.objects.values_list("slug", "name"))
    known = {one.uid for one in truth.days}
    for n in range(3):
        first = monday + timedelta(weeks=WEEKS * n)
        after = first + timedelta(weeks=WEEKS)
        crews, machines = told_office.look_ahead(office, truth.today, first)
        here = [one for one in truth.days if first <= one.day < after]
        wanted = {(crew.name, one.day, one.uid): one for one in here for crew in one.crews}
        told = [it for it in crews if it.who in ours and (it.uid in known or it.day >= truth.today)]
        same("weeks of crews", [it[:3] for it in told], wanted)
        for it in told:
            _check_hours(it, wanted[it[:3]])
        held = [(names[slug], one.day, one.uid) for one in here for slug in {*one.row.own_machines}]
        same("weeks of machines", [it[:3] for it in machines if it.uid in known or it.day >= truth.today], held)  # fmt: skip


def _check_hours(told, one) -> None:
    """Where an hour is told it is the work's own; a whole day has none."""
    same("a whole day", [told.begins is None and told.ends is None], [one.whole])
    same("an hour", {told.begins, told.ends} - {None}, {told.begins, told.ends} & {one.begins, one.ends})  # fmt: skip


def check_crews(truth, office) -> None:
    """Crews and machines, the next two weeks: first and last day of each work that is not over."""
    rows = [
        (row.activity.uid, *(local(at, row.activity.job).date() for at in (row.start, row.finish)), row)
        for row in truth.rows
        if row.crew and row.finish > truth.now and row.start < truth.now + FORTNIGHT
        and not row.activity.finished_at
    ]  # fmt: skip
    crews = [(crew.slug, *told) for *told, row in rows for crew in row.crews if crew.active]
    same("crews", told_office.ahead(office, truth.today, "crews"), crews)
    active = {one.slug for one in Machine.objects.filter(active=True)}
    held = [(slug, *told) for *told, row in rows for slug in row.own_machines if slug in active]
    same("machines", told_office.ahead(office, truth.today, "machines"), held)


def check_hires(truth, office) -> None:
    """Machines, plan and first page tell the same of what is rented: all days it works, ordered on a working day."""
    told = told_office.hires(office, truth.today)
    _, planned = told_office.plan(office, truth.today)
    if not Plan.objects.filter(state="proposed").exists():
        near = [one for one in planned if one.last >= truth.today]
        same("hires", [one._replace(order_by=None) for one in told], near)
    orders = told_office.tomorrow(office, truth.today).orders
    soon = [
        (one.machine, one.first, one.order_by)
        for one in told
        if one.first > truth.today and one.order_by < truth.today + FORTNIGHT
    ]
    same("orders", orders, soon)
    same("ordered when nobody works", {one.order_by for one in told} & truth.closed(A_YEAR), ())
    lead = dict(Machine.objects.values_list("name", "lead_days"))
    off = TimeOff.objects.filter(crew=None, member=None, machine=None)
    shut = {day for row in off for day in days_from(row.first, row.last)}
    ahead = [
        (one, sum(day.weekday() < SATURDAY and day not in shut for day in days_from(one.order_by, one.first - DAY)))
        for one in told
    ]  # fmt: skip
    same("working days to order ahead", ahead, [(one, lead[one.machine]) for one in told])
    held = {
        at.date()
        for row in truth.rows
        for at in (local(row.start, row.activity.job), local(row.activity.finished_at or row.finish, row.activity.job))
    }  # fmt: skip
    same("on hire for nothing", {day for one in told for day in (one.first, one.last)} - held, ())
    rented = dict(Machine.objects.filter(rented=True, active=True).values_list("slug", "name"))
    needed = {
        (rented[slug], one.day)
        for one in truth.days
        for slug in one.row.own_machines
        if slug in rented and one.day >= truth.today
    }
    here = {(machine, day) for machine, day in needed for one in told
            if one.machine == machine and one.first <= day <= one.last}  # fmt: skip
    same("on hire", here, needed)
