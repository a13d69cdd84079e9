"""Reads what needs a person of the office: orders, calls, choices, people and machines to be hired, and by when."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple

from jobs import models
from jobs.services.planning.rentals import rentals_of
from jobs.services.telling.speech import say_day
from jobs.services.telling.words import say
from jobs.trade.work import OFFICE, OWNER, Sentence

from .frame import local

if TYPE_CHECKING:
    from collections.abc import Iterable

    from jobs.services.world.lacking import Nobody

LOOK_AHEAD = timedelta(days=14)
CALL_AGAIN = "Call again for utility marks: digging goes on after they run out"


class Need(NamedTuple):
    """Something the office must do, by when; for a job, or for a machine if there is none.

    ``call`` is the notice that is made by a call.
    """

    what: str
    job: str
    slug: str
    by: str
    soon: bool
    call: int = 0


def read_needs(plan: models.Plan | None, now: datetime, nobody: Nobody) -> list[Need]:
    """Read what the office and hired people do in the next two weeks, and choices the owners have still to make."""
    needs: list[tuple[date, Need]] = []
    limit = now + LOOK_AHEAD
    if plan is not None:
        due = plan.rows.filter(
            crew__isnull=True,
            start__lt=limit,
            activity__finished_at=None,
            activity__job__state__in=models.Job.OPEN,
        ).exclude(activity__skill=OWNER)
        rows = due.select_related("activity__job").order_by("start")
        needs += [_outside(row, now, nobody) for row in rows]
    decisions = models.Decision.objects.filter(
        decided_on=None, expected_on__lt=limit.date(), job__state__in=models.Job.OPEN
    )
    needs += [
        (choice.expected_on, _need(choice.name, choice.job, choice.expected_on, now))
        for choice in decisions.select_related("job")
        if choice.expected_on
    ]
    calls = models.Notice.objects.filter(
        sent_on=None, needed=True, ask_on__lt=limit.date(), job__state__in=models.Job.OPEN
    )
    needs += [
        (call.ask_on, _need(CALL_AGAIN, call.job, call.ask_on, now)._replace(call=call.pk))
        for call in calls.select_related("job")
    ]
    needs += _hires(plan, now)
    return [need for _, need in sorted(needs, key=lambda pair: pair[0])]


def _outside(row: models.PlanRow, now: datetime, nobody: Nobody) -> tuple[date, Need]:
    """What no crew of ours does: asked for by its first day, done by its last, or the day hired people come.

    What nobody can do needs somebody now, whenever it is planned.
    """
    activity = row.activity
    first, last = (local(at, activity.job).date() for at in (row.start, row.finish))
    if activity.uid in nobody.uids:
        what = say(Sentence("nobody-need", {"work": activity.name}))
        return date.min, _need(what, activity.job, first, now)._replace(soon=True)
    if activity.skill != OFFICE:
        return first, _need(activity.name, activity.job, first, now, "on")
    day = first if activity.detail.get("request") else last
    return day, _need(activity.name, activity.job, day, now)


def _hires(plan: models.Plan | None, now: datetime) -> Iterable[tuple[date, Need]]:
    """Rented machines to be ordered, and to be called off hire."""
    today, limit = now.date(), (now + LOOK_AHEAD).date()
    for rental in rentals_of(plan):
        name, first, last = rental.machine.name, rental.hire.first, rental.hire.last
        if first > today and rental.order_by < limit:
            day = rental.order_by
            what = f"Order {name}, needed from {say_day(first)}"
            yield day, Need(what, "", "", f"by {say_day(day)}", day <= today + timedelta(days=1))
        if today <= last < limit:
            yield last, Need(f"{name} goes back", "", "", f"on {say_day(last)}", last <= today)


def _need(what: str, job: models.Job, day: date, now: datetime, word: str = "by") -> Need:
    soon = day <= now.date() + timedelta(days=1)
    return Need(what, job.name, job.slug, f"{word} {say_day(day)}", soon)
