"""The evening summary: who goes where tomorrow with what, what could stop it, what to order or decide, what changed.

A draft for each crew in its language and one for each owner, to copy; sent by the worker at the company's hour where a mail
server is set, each once a day.
"""

from __future__ import annotations

import logging
import smtplib
from datetime import timedelta
from typing import TYPE_CHECKING

from django.core.mail import send_mail
from django.db import transaction
from django.db.models import F

from crews.models import Crew, Person, Role
from jobs import models
from jobs.services.history import record
from jobs.services.numbers.library_words import machine_name, work_name
from jobs.services.pages.sky import read_sky
from jobs.services.pages.tomorrow import read_tomorrow
from jobs.services.planning.stands import day_line, days_that_differ, stands_of
from jobs.services.telling.speech import say_day
from jobs.services.telling.words import clock_in, say
from jobs.trade.work import Sentence

from .messages import LOOK_AHEAD, Draft, address_of, mail_is_set

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import date, datetime, time

    from jobs.services.history import Who
    from jobs.services.pages.sky import Sky
    from jobs.services.pages.tomorrow import TomorrowPage
    from jobs.services.planning.stands import Stand, Stands

log = logging.getLogger(__name__)
YESTERDAY = timedelta(days=1)
MOST_TRIES = 3
WORKER = "the worker"


def evening_drafts(now: datetime) -> list[Draft]:
    """Return tomorrow's summary for each crew and each owner; none where nothing is published."""
    page = read_tomorrow(now)
    if page.plan is None:
        return []
    new = stands_of(page.plan)
    old = stands_of(_plan_yesterday(now))
    changed = days_that_differ(old, new, now.date(), LOOK_AHEAD) if old else {}
    crews = list(Crew.objects.filter(active=True).select_related("lead"))
    mails = [_for_crew(crew, page.day, new, changed.get(crew.pk, []), now) for crew in crews]
    owners = Person.objects.filter(role=Role.OWNER, is_active=True).order_by("pk")
    lines = [line for crew in crews for line in _changed(crew.name, new, crew, changed)]
    return [*(_for_owner(one, page, crews, new, lines) for one in owners), *mails]


@transaction.atomic
def set_evening(at: time | None, who: Who) -> None:
    """Let the summary be sent at an hour from now on, or never by itself."""
    company = models.Company.objects.select_for_update().first()
    if company is None or company.evening_at == at:
        return
    before = _hour(company.evening_at)
    company.evening_at = at
    company.save(update_fields=["evening_at"])
    record("evening summary", by=who.by, at=who.now, before={"sent": before}, after={"sent": _hour(at)})  # fmt: skip


def is_due(company: models.Company, now: datetime) -> bool:
    """Return True if the hour has come, on an evening before work or after it, and something is left to send."""
    if company.evening_at is None or now.time() < company.evening_at:
        return False
    today = models.Message.objects.filter(on=now.date())
    if today.exists() and not today.filter(sent_at=None, tries__lt=MOST_TRIES).exists():
        return False
    page = read_tomorrow(now)
    worked = any(day == now.date() for _, day in stands_of(page.plan))
    return page.plan is not None and (page.is_tomorrow or worked)


def send_evening(now: datetime, *, by: str = WORKER) -> int:
    """Send what of today's summary was not sent yet; return how many messages went out.

    A message is claimed before it is sent, so that several workers, or one that dies, send none twice.
    """
    sent = 0
    for draft in evening_drafts(now):
        if draft.to:
            row, _ = models.Message.objects.get_or_create(
                on=now.date(),
                key=draft.key,
                defaults={"to": draft.to, "subject": draft.subject[:200], "text": draft.text},
            )
            sent += _send(row, now)
    if sent:
        record("evening summary sent", by=by, at=now, after={"messages": sent})
    return sent


def not_sent(now: datetime) -> list[models.Message]:
    """Return today's messages that could not be sent so far."""
    return list(models.Message.objects.filter(on=now.date(), sent_at=None).order_by("pk"))


def may_send() -> bool:
    """Return True if a mail server is set."""
    return mail_is_set()


def _send(row: models.Message, now: datetime) -> bool:
    claimed = models.Message.objects.filter(pk=row.pk, sent_at=None, tries__lt=MOST_TRIES).update(
        sent_at=now, tries=F("tries") + 1, failed=""
    )
    if not claimed:
        return False
    try:
        send_mail(row.subject, row.text, None, [row.to])
    except (OSError, smtplib.SMTPException, ValueError) as error:
        log.warning("a message of the evening could not be sent: %s", type(error).__name__)
        models.Message.objects.filter(pk=row.pk).update(sent_at=None, failed=str(error)[:200])
        return False
    return True


def _plan_yesterday(now: datetime) -> models.Plan | None:
    """The plan that was published a day ago; the first one, where none was so early."""
    plans = models.Plan.objects.filter(published_at__isnull=False).order_by(
        "published_at", "number"
    )
    return plans.filter(published_at__lte=now - YESTERDAY).last() or plans.first()


def _for_crew(crew: Crew, day: date, new: Stands, changed: Sequence[date], now: datetime) -> Draft:
    tongue, stands = crew.language, new.get((crew.pk, day), [])
    jobs = {stand.row.activity.job_id: stand.row.activity.job for stand in stands}
    works = [stand.row.activity for stand in stands]
    skies = read_sky(jobs.values(), day, now, tongue, works=works)
    lines = [_told("evening-head", tongue, crew=crew.name, day=day.isoformat())]
    lines += _works(stands, tongue) or [_told("evening-nothing", tongue)]
    if skies:
        lines += ["", _told("evening-stops", tongue), *_skies(skies, tongue)]
    if changed:
        lines += ["", _told("evening-changed", tongue)]
        lines += [day_line(one, new.get((crew.pk, one), []), tongue) for one in changed]
    lines += ["", _told("evening-calendar", tongue)]
    subject = _told("evening-subject", tongue, crew=crew.name, day=day.isoformat())
    return Draft(f"evening-crew-{crew.pk}", crew.name, address_of(crew), subject, "\n".join(lines))


def _works(stands: Iterable[Stand], tongue: str) -> list[str]:
    """Each work with its hour and machines; the address under the first of each yard."""
    lines: list[str] = []
    last = None
    for begins, row in stands:
        job, work = row.activity.job, work_name(row.activity, tongue)
        machines = ", ".join(
            dict.fromkeys(machine_name(kind, tongue).lower() for kind, _, _ in row.machines)
        )
        if machines:
            work = _told("evening-with", tongue, work=work, machines=machines)
        time = clock_in(begins, tongue)
        lines.append(_told("evening-work", tongue, time=time, job=job.name, work=work))
        if job.pk != last:
            lines.append(_told("evening-place", tongue, address=job.address))
        last = job.pk
    return lines


def _skies(skies: Iterable[Sky], tongue: str) -> Iterator[str]:
    for sky in skies:
        yield _told("evening-sky", tongue, job=sky.job, air=sky.air)
        for mind in sky.minds:
            yield _told("evening-mind", tongue, mind=mind)


def _for_owner(
    owner: Person, page: TomorrowPage, crews: Sequence[Crew], new: Stands, changed: Sequence[str]
) -> Draft:
    lines = [f"{say_day(page.day)}, plan {page.plan.number if page.plan else ''}"]
    for crew in crews:
        stands = new.get((crew.pk, page.day), [])
        lines += ["", crew.name, *(_works(stands, "en") or ["Nothing planned."])]
    if page.skies:
        lines += ["", "What could stop it", *_skies(page.skies, "en")]
    needs = [
        f"- {', '.join(filter(None, (need.what, need.job)))}: {need.by}" for need in page.needs
    ]
    lines += ["", "To call, order or decide", *(needs or ["- nothing in the next two weeks"])]
    late = [f"- {p.job}: {p.finish}, {p.odds or p.words}" for p in page.promises if p.at_risk]
    lines += ["", "Promises at risk", *(late or ["- none"])]
    lines += ["", "Changed since yesterday", *(changed or ["- nothing"])]
    to = owner.username if "@" in owner.username else ""
    subject = f"{say_day(page.day)}: who goes where"
    return Draft(f"evening-owner-{owner.pk}", str(owner), to, subject, "\n".join(lines))


def _changed(name: str, new: Stands, crew: Crew, changed: dict[int, list[date]]) -> Iterator[str]:
    for day in changed.get(crew.pk, []):
        yield f"{day_line(day, new.get((crew.pk, day), []))} ({name})"


def _told(key: str, tongue: str, **values: str) -> str:
    return say(Sentence(key, values), tongue)


def _hour(at: time | None) -> str:
    return f"{at:%H:%M}" if at else "never by itself"
