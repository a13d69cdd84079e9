"""Drafts in plain words of what an accepted plan changed: for each crew, and for each homeowner.

Shown to copy; sent only by pressing send, where a mail server is set.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import send_mail

from crews.models import Crew
from jobs import models
from jobs.services.history import record
from jobs.services.planning.stands import day_line, days_that_differ, stands_of
from jobs.trade.work import Sentence

from .speech import say_day, say_span
from .words import say

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from jobs.services.planning.stands import Stands

LOOK_AHEAD = timedelta(days=14)
NO_MAIL = "console"
"""End of the name of the backend that stands in where no mail server is set."""
FINE_WORDS = {
    models.Cause.RAIN: "rain",
    models.Cause.DRY_OUT: "the ground drying out after rain",
    models.Cause.WIND: "wind",
    models.Cause.COLD: "cold",
    models.Cause.HEAT: "heat",
    models.Cause.MACHINE: "a machine that was down",
    models.Cause.PEOPLE: "people who were out",
    models.Cause.DELIVERY: "a late delivery",
    models.Cause.DECISION: "a choice still to be made",
    models.Cause.CHANGE_ORDER: "a change you signed",
    models.Cause.INSPECTION: "an inspection that has to be passed first",
    models.Cause.REDO: "work that is done a second time",
    models.Cause.PAUSE: "a pause",
    models.Cause.PROMISE: "another date that was agreed",
    models.Cause.NEW_JOB: "the order of works changed",
    models.Cause.PRODUCTIVITY: "work that went otherwise than planned",
    models.Cause.OTHER: "something we could not foresee",
    "progress": "work that went otherwise than planned",
    "re-sequencing": "the order of works changed",
    "undone": "the earlier dates hold again",
}
"""Causes as a homeowner reads them: no crews, no prices."""


class Draft(NamedTuple):
    """A message to copy or send; ``to`` is the address if one is known."""

    key: str
    whom: str
    to: str
    subject: str
    text: str


def mail_is_set() -> bool:
    """Return True if messages can be sent from here."""
    return NO_MAIL not in settings.EMAIL_BACKEND


def drafts(now: datetime) -> list[Draft]:
    """Return a draft for everybody whom the published plan told something new."""
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if plan is None:
        return []
    old, new = stands_of(plan_before(plan)), stands_of(plan)
    return [*_crew_drafts(old, new, now), *_homeowner_drafts(plan, now)]


def plan_before(plan: models.Plan) -> models.Plan | None:
    """Return the plan that one took the place of, by the record of its acceptance."""
    entry = models.HistoryEntry.objects.filter(what="plan published", after=plan.number).first()
    number = entry.before if entry else None
    return models.Plan.objects.filter(number=number).first() if number else None


def send(draft: Draft, to: str, *, by: str, now: datetime) -> None:
    """Send a draft as it is shown, and note that it went out."""
    send_mail(draft.subject, draft.text, None, [to])
    record("message sent", by=by, at=now, after={"to": to, "subject": draft.subject})


def _crew_drafts(old: Stands, new: Stands, now: datetime) -> Iterator[Draft]:
    differ = days_that_differ(old, new, now.date(), LOOK_AHEAD)
    crews = {crew.pk: crew for crew in Crew.objects.select_related("lead")}
    for pk, days in differ.items():
        crew = crews[pk]
        lines = [day_line(day, new.get((pk, day), []), crew.language) for day in days]

        def told(key: str, language: str = crew.language, **values: str) -> str:
            return say(Sentence(key, values), language)

        yield Draft(
            key=f"crew-{crew.slug}",
            whom=crew.name,
            to=address_of(crew),
            subject=told("changed-subject", crew=crew.name, count=str(len(lines))),
            text="\n".join([told("changed-head"), "", *lines, "", told("evening-calendar")]),
        )


def address_of(crew: Crew) -> str:
    """Return the e-mail address of a crew's lead, if he has one."""
    lead = crew.lead
    return lead.username if lead is not None and "@" in lead.username else ""


def _homeowner_drafts(plan: models.Plan, now: datetime) -> Iterator[Draft]:
    changes = plan.finish_changes.select_related("job").order_by("job__name")
    company = models.Company.objects.first()
    name, phone = (company.name, company.phone) if company else ("", "")
    ahead = _milestones(plan, now)
    for change in changes:
        lines = [finish_sentence(change)]
        if change.job_id in ahead:
            lines += ["", "What comes next:", *ahead[change.job_id][:3]]
        lines += ["", "Your page shows the new dates.", f"{name} {phone}".strip()]
        yield Draft(
            key=f"homeowner-{change.job.slug}",
            whom=f"Homeowner, {change.job.name}",
            to="",
            subject=f"Your garden at {change.job.name}: dates have changed",
            text="\n".join(lines),
        )


def finish_sentence(change: models.FinishChange) -> str:
    """Return what moved a finish, as a homeowner reads it."""
    days = (change.becomes - change.was).days
    because = because_of(change)
    if not days:
        return f"Your garden is still planned to be finished {say_day(change.becomes)}, {because}."
    later = "later" if days > 0 else "sooner"
    return (
        f"Your garden is now planned to be finished {say_day(change.becomes)}, "
        f"{abs(days)} day{'' if abs(days) == 1 else 's'} {later} than before, {because}."
    )


def because_of(change: models.FinishChange) -> str:
    """Return the causes of a change, those of most days first."""
    days = (change.becomes - change.was).days
    ways = [s for s in change.shares if not days or (s["days"] > 0) == (days > 0)]
    ways.sort(key=lambda share: -abs(share["days"]))
    words = list(dict.fromkeys(FINE_WORDS.get(share["cause"], share["cause"]) for share in ways))
    told = " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
    if not days:
        return f"in spite of {told}" if told else "as before"
    return f"because of {told}" if told else "as the order of works changed"


def _milestones(plan: models.Plan, now: datetime) -> dict[int, list[str]]:
    rows = plan.rows.filter(finish__gt=now, activity__finished_at=None).select_related(
        "activity__job"
    )
    found: dict[int, list[str]] = defaultdict(list)
    for row in rows.order_by("finish", "pk"):
        words = row.activity.detail.get("milestone")
        if words:
            zone = ZoneInfo(row.activity.job.zone)
            day = row.finish.astimezone(zone).date()
            found[row.activity.job_id].append(f"- {words}: about {say_span(day, day)}")
    return found
