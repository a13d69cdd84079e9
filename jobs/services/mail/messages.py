"""Drafts in plain words of what an accepted plan changed: for each crew, and for each homeowner.

Shown to copy; sent only by pressing send, where a mail server is set.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from django.conf import settings
from django.core.mail import send_mail

from crews.models import Crew
from jobs import models
from jobs.services.history import record
from jobs.services.planning.stands import day_line, days_that_differ, stands_of
from jobs.services.telling.finish import finish_sentence
from jobs.services.telling.speech import say_day
from jobs.services.telling.words import say
from jobs.services.world.lacking import nobody_of
from jobs.services.world.milestones import expected, milestone_of, milestones
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from jobs.services.planning.stands import Stands
    from jobs.services.world.lacking import Nobody

LOOK_AHEAD = timedelta(days=14)
NO_MAIL = "console"
"""End of the name of the backend that stands in where no mail server is set."""


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
    nobody = nobody_of(plan)
    ahead = _milestones(plan, now, nobody)
    for change in changes:
        lines = [finish_sentence(change, settled=change.job.uid not in nobody.jobs)]
        if change.job_id in ahead:
            lines += ["", "What comes next:", *ahead[change.job_id][:3]]
        lines += ["", "Your page shows the new dates.", f"{name} {phone}".strip()]
        yield Draft(
            key=f"homeowner-{change.job.slug}",
            whom=f"Homeowner, {change.job.name}",
            to="",
            subject=f"Your yard at {change.job.name}: dates have changed",
            text="\n".join(lines),
        )


def _milestones(plan: models.Plan, now: datetime, nobody: Nobody) -> dict[int, list[str]]:
    """What comes next in each job, but not what hangs on somebody still to be found."""
    found: dict[int, list[str]] = defaultdict(list)
    for row in milestones(plan.rows.select_related("activity__job")):
        day = expected(row, now)
        if day is not None and row.activity.uid not in nobody.follow:
            told = f"- {milestone_of(row)}: about {say_day(day)}"
            found[row.activity.job_id].append(told)
    return found
