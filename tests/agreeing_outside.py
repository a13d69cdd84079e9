"""What crews and owners are told, held against the published plan: phones, calendars, mails, the owner's page."""

from __future__ import annotations

import re
from datetime import date, timedelta

from crews.models import Crew, Machine
from crews.services.hours import working_hours
from jobs.models import Delivery, LostTime, Outlook
from jobs.services.telling.words import say
from jobs.services.telling.yardstick import yardstick
from jobs.trade.work import INSPECTION, Sentence
from tests import told_outside
from tests.agreeing import days_of, local, same


def check_outside(truth, office, tale) -> None:
    """Hold everything that leaves the office against the plan."""
    for crew in Crew.objects.filter(active=True):
        check_phone(truth, crew, tale.phones[crew.pk])
    check_feeds(truth, tale.feeds)
    check_mails(truth, office)
    for job in truth.jobs:
        check_owner(truth, job, *tale.owner_of(job))


def check_phone(truth, crew, client) -> None:
    """Today and the next day with work, hour by hour, with the machines and how far each work is."""
    mine = truth.of(crew)
    days, works = told_outside.phone(client, truth.today)
    same("days on the phone", days, [truth.today, truth.following(mine)])
    wanted = [
        (one.day, one.job.name, one.name(crew), one.begins, one.ends, _beside(one, crew.language))
        for one in mine
        if one.day in days
    ]
    same(f"phone of {crew}", works, wanted)


def _beside(one, language):
    """What stands beside the hours: how much of it there is, machines, then how far it is."""
    work, names = one.row.activity, dict.fromkeys(one.machines(language))
    state, amount = "", yardstick().quantity(work.quantity, work.unit, language)
    if work.finished_at is not None:
        state = say(Sentence("crew-state-done"), language)
    elif work.started_at is not None and work.done_share:
        state = say(Sentence("crew-state-part", {"share": work.done_share}), language)
    elif work.started_at is not None:
        state = say(Sentence("crew-state-started"), language)
    return tuple(words for words in (amount, ", ".join(names), state) if words)


def check_feeds(truth, feeds) -> None:
    """Calendars of crews, of machines and of everything: each day after today, no work more and none less."""
    ahead = [one for one in truth.days if one.day > truth.today]
    works = [
        (crew, (one.day, f"{one.job.name}: {one.name(crew)}", *one.hours))
        for one in ahead
        for crew in one.crews
    ]
    for crew in Crew.objects.filter(active=True):
        told = _ahead(truth, feeds[f"crew:{crew.slug}"])
        same(f"calendar of {crew}", told, {work for whose, work in works if whose == crew})
    same("calendar of everything", _ahead(truth, feeds["all"]), {work for _, work in works})
    for machine in Machine.objects.filter(active=True):
        held = {
            (one.day, f"{one.job.name}: {one.row.activity.name} ({one.row.crew_names})", *one.hours)
            for one in ahead
            if machine.slug in one.row.own_machines
        }
        same(f"calendar of {machine}", _ahead(truth, feeds[f"machine:{machine.slug}"]), held)

    check_visits(truth, feeds["all"])


def _ahead(truth, address, kind="work"):
    works = told_outside.works_in(told_outside.feed(address), kind)
    return {work for work in works if work[0] > truth.today}


def check_visits(truth, address) -> None:
    """Inspectors and trucks in the calendar of everything: which yard, when; a truck on the first day of what needs it."""
    told = _ahead(truth, address, "inspection")
    wanted = [
        (one.day, one.job.name, one.begins, one.ends)
        for row in truth.rows
        if row.activity.skill == INSPECTION
        for one in days_of(row)
        if one.day > truth.today
    ]
    same("inspections", [(day, title.partition(":")[0], *at) for day, title, *at in told], wanted)
    needing = {row.activity_id: row for row in truth.rows if not row.activity.started_at}
    waited = Delivery.objects.filter(arrived_on=None, activity__in=needing).select_related("job")
    due = [(local(needing[one.activity_id].start, one.job).date(), one) for one in waited]
    trucks = [(day, f"{one.job.name}: {one.name}") for day, one in due if day > truth.today]
    told = _ahead(truth, address, "delivery")
    same(
        "deliveries",
        [(day, re.sub("^(?:Delivery to|Entrega en) ", "", title)) for day, title, *_ in told],
        trucks,
    )


def check_mails(truth, office) -> None:
    """The evening's mail tells tomorrow as it is; what is told to have changed reads as it now stands."""
    evening, changed = (told_outside.mails(office, route) for route in ("evening", "told"))
    for crew in Crew.objects.filter(active=True):
        day = truth.following(truth.days)
        told = told_outside.mailed(evening[crew.name])
        same(f"evening of {crew}", told, _lines(truth, crew, day))
        for lines in (evening[crew.name], changed.get(crew.name, ())):
            for on, works in told_outside.changed(lines, truth.today).items():
                same(f"changed for {crew}", works, _lines(truth, crew, on))
    names = {crew.name for crew in Crew.objects.filter(active=True)}
    told = told_outside.by_crew(evening["Owner"], names)
    wanted = [
        (crew.name, one.begins, one.job.name, one.row.activity.name)
        for one in truth.days
        for crew in one.crews
        if one.day == truth.following(truth.days) and crew.active
    ]
    same(
        "evening of the house's owner",
        [(name, *line) for name, lines in told.items() for line in lines],
        wanted,
    )
    for job in truth.jobs:
        lines = changed.get(f"Homeowner, {job.name}")
        if lines and job.uid not in truth.waits.jobs:
            finish, told = told_outside.owner_mail(lines, truth.today)
            same("finish in a mail to an owner", [finish], [truth.finish(job)])
            same("milestones in a mail to an owner", told, truth.milestones(job)[:3])


def _lines(truth, crew, day):
    here = [one for one in truth.of(crew) if one.day == day]
    return [(one.begins, one.job.name, one.name(crew)) for one in here]


def check_owner(truth, job, page, feed) -> None:
    """Page and calendar of an owner: the plan's milestones, none sooner, none told as done that is half done."""
    told, coming = told_outside.owner(page, truth.today), truth.milestones(job)
    events = told_outside.milestones_in(told_outside.feed(feed))
    ahead = [it for it in coming if it[1] > truth.today]
    same("an owner's calendar", [it for it in events if it[1] > truth.today], ahead)
    spans = {one.words: one.days for one in told.stones if one.state != "laid" and one.days}
    same("an owner's milestones", [(words, days[0]) for words, days in spans.items()], coming)
    same(
        "windows of one day", [words for words, (first, last) in spans.items() if last <= first], ()
    )
    if coming and not truth.waits.follow:
        same("what is next", [told.window], [spans[coming[0][0]]])
    same("as of", [told.sent], [local(truth.plan.published_at, job).date()])
    check_finish(truth, job, told)
    check_days(truth, job, told)
    begun = {
        row.activity.detail.get("milestone")
        for row in truth.rows_of(job)
        if row.activity.started_at and not row.activity.finished_at
    }
    same(
        "done and half done", {one.words for one in told.stones if one.state == "laid"} & begun, ()
    )


def check_finish(truth, job, told) -> None:
    """The finish an owner reads: even odds where they were said and are later than planned; none that hangs on nobody."""
    said = Outlook.objects.filter(plan=truth.plan, job=job).order_by("said_at", "pk").last()
    finish = max(truth.finish(job), local(said.p50, job).date()) if said else truth.finish(job)
    if job.uid in truth.waits.jobs:
        same("a finish that is not settled", [told.finish, told.promised], [None, None])
    elif any(row.finish > truth.now for row in truth.rows_of(job)):
        same("an owner's finish", [told.finish, told.promised], [finish, job.promised_on])
    else:
        same("a finish that is past", {told.finish} - {None, finish}, ())


def check_days(truth, job, told) -> None:
    """Who comes into a yard today and tomorrow, and else when; time lost since may take works off, never put some on."""
    days = [
        one
        for row in truth.rows_of(job)
        for one in days_of(row)
        if one.day >= truth.today
        and not row.activity.finished_at
        and (not row.activity.detail.get("outside") or row.activity.skill == INSPECTION)
    ]
    lost = LostTime.objects.filter(plan=None, taken_back_at=None).exists()
    for coming in told.days:
        wanted = [
            (one.begins, one.ends, one.row.activity.name) for one in days if one.day == coming.day
        ]
        more = [one for one in coming.works if one not in wanted]
        same(f"in the yard on {coming.day}", more if lost else coming.works, () if lost else wanted)
        later = [one.day for one in days if one.day > coming.day]
        following = {min(later, default=None)} if not wanted else {None}
        same(f"after {coming.day}", {coming.following}, following)
    if any(row.finish > truth.now for row in truth.rows_of(job)):
        here = [truth.today, truth.today + timedelta(days=1)]
        same("days told to an owner", [one.day for one in told.days], here)


def check_working(truth) -> None:
    """Nobody is told to work on a day on which his crew is off, unless the plan asks for that day."""
    asked = {(one["crew"], date.fromisoformat(one["day"])) for one in truth.plan.overtime}
    last = max((one.day for one in truth.days), default=truth.today)
    hours = working_hours(truth.today, max(last, truth.today))
    off = {
        (crew.slug, one.day)
        for one in truth.days
        for crew in one.crews
        if one.day > truth.today
        and not (crew.slug in hours.crews and hours.crews[crew.slug].masks[(one.day - truth.today).days])
    }  # fmt: skip
    same("told to work on a day off", off - asked, ())
