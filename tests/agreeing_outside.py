"""What crews and owners are told, held against the published plan: phones, calendars, mails, the owner's page."""

from __future__ import annotations

from datetime import date

from crews.models import Crew, Machine
from crews.services.hours import working_hours
from jobs.services.telling.words import say
from jobs.trade.work import Sentence
from tests import told_outside
from tests.agreeing import same


def check_outside(truth, tale) -> None:
    """Hold everything that leaves the office against the plan."""
    for crew in Crew.objects.filter(active=True):
        check_phone(truth, crew, tale.phones[crew.pk])
    check_feeds(truth, tale.feeds)
    check_mails(truth, tale.office)
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
    """What stands beside the hours: machines, then how far it is."""
    work, names = one.row.activity, dict.fromkeys(one.machines(language))
    state = ""
    if work.finished_at is not None:
        state = say(Sentence("crew-state-done"), language)
    elif work.started_at is not None and work.done_share:
        state = say(Sentence("crew-state-part", {"share": work.done_share}), language)
    elif work.started_at is not None:
        state = say(Sentence("crew-state-started"), language)
    return tuple(words for words in (", ".join(names), state) if words)


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


def _ahead(truth, address):
    works = told_outside.works_in(told_outside.feed(address))
    return {work for work in works if work[0] > truth.today}


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
    if told.finish is not None:
        sooner = min(told.finish, truth.finish(job))
        same("a finish sooner than planned", [sooner], [truth.finish(job)])
    begun = {
        row.activity.detail.get("milestone")
        for row in truth.rows_of(job)
        if row.activity.started_at and not row.activity.finished_at
    }
    same(
        "done and half done", {one.words for one in told.stones if one.state == "laid"} & begun, ()
    )


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
