"""What several pages need: the plan on show, the head of a job's pages, days nobody works."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

from crews.services.hours import working_hours
from jobs import models
from jobs.services.telling.speech import HOURS_A_DAY, say_day
from jobs.services.telling.words import say
from jobs.services.world.lacking import nobody_of, unsure_of
from jobs.trade.work import INSPECTION, OFFICE, OWNER, Sentence

if TYPE_CHECKING:
    from datetime import datetime

    from jobs.services.world.lacking import Nobody


class Tab(NamedTuple):
    """One of a job's pages, by the name of its route; what is opened seldom folds away on a phone."""

    word: str
    route: str
    here: bool
    seldom: bool


TABS = (
    ("What is built", "job"),
    ("Yard", "yard"),
    ("Sequence", "sheet"),
    ("Day", "day"),
    ("Activities", "activities"),
    ("Change orders", "changes"),
    ("Numbers", "numbers"),
    ("Why it moved", "moved"),
    ("Record", "record"),
)
OFTEN = {"job", "sheet", "day"}
OUTSIDERS = {OFFICE: "Office", INSPECTION: "Inspector", OWNER: "Homeowner"}
"""By skill, who is not called by it."""


@dataclass(frozen=True, slots=True)
class JobHead:
    """The head of every page of one job."""

    slug: str
    name: str
    address: str
    state: str
    finish: date | None
    promise: date | None
    promise_words: str
    at_risk: bool
    plan: int | None
    tabs: tuple[Tab, ...]


def shown_plan() -> models.Plan | None:
    """Return the published plan, or the proposal where nothing is published yet."""
    states = (models.Plan.State.PUBLISHED, models.Plan.State.PROPOSED)
    plans = {plan.state: plan for plan in models.Plan.objects.filter(state__in=states)}
    return plans.get(states[0]) or plans.get(states[1])


def published_plan() -> models.Plan | None:
    """Return the plan on phones, if there is one."""
    return models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()


def job_head(job: models.Job, here: str, plan: models.Plan | None) -> JobHead:
    """Return the head of a job's page; ``here`` is the route of the page shown."""
    planned = models.JobPlan.objects.filter(plan=plan, job=job).first() if plan else None
    words, at_risk = how_it_stands(planned, job, nobody_of(plan))
    return JobHead(
        slug=job.slug,
        name=job.name,
        address=job.address,
        state=job.get_state_display(),
        finish=local(planned.finish, job).date() if planned else None,
        promise=job.promised_on,
        promise_words=words,
        at_risk=at_risk,
        plan=plan.number if plan else None,
        tabs=tuple(Tab(word, route, route == here, route not in OFTEN) for word, route in TABS),
    )


def said_of(job: models.Job, plan: models.Plan | None) -> models.Outlook | None:
    """Return the odds said last of a job in this very plan; those of an older plan are not shown."""
    if plan is None or job.uid in unsure_of(plan):
        return None
    return models.Outlook.objects.filter(job=job, plan=plan).first()


def first_said(job: models.Job) -> models.Outlook | None:
    """Return the first odds ever said of a job."""
    return models.Outlook.objects.filter(job=job).order_by("said_at", "pk").first()


def outsider(activity: models.Activity) -> str:
    """Return who does a work that no crew of ours does, in a word or two; ``Nobody yet`` where nobody can."""
    if activity.detail.get("outside"):
        return OUTSIDERS.get(activity.skill, activity.skill.capitalize())
    return say(Sentence("nobody-hired" if activity.by_others else "nobody-who"))


def local(moment: datetime, job: models.Job) -> datetime:
    """Return a moment on the yard's own clock."""
    return moment.astimezone(ZoneInfo(job.zone))


def is_late(planned: models.JobPlan | None, job: models.Job) -> bool:
    """Return True if the plan breaks the promise."""
    if planned is None or job.promised_on is None:
        return False
    return local(planned.finish, job).date() > job.promised_on


def how_it_stands(
    planned: models.JobPlan | None, job: models.Job, nobody: Nobody
) -> tuple[str, bool]:
    """Return how the promise stands, in words, and whether it is at risk: it is where nobody is there for a work."""
    if job.uid in nobody.jobs:
        return say(Sentence("nobody-finish", {"works": nobody.jobs[job.uid]})), True
    return promise_words(planned, job), is_late(planned, job)


def promise_words(planned: models.JobPlan | None, job: models.Job) -> str:
    """Return how the promise stands, in words: in days of the calendar where it was made after the plan."""
    if job.promised_on is None:
        return "nothing promised"
    if planned is None:
        return f"promised {say_day(job.promised_on)}"
    if planned.promise == job.promised_on and planned.float_hours is not None:
        days, kind = abs(planned.float_hours) / HOURS_A_DAY, "working day"
    else:
        days, kind = abs((job.promised_on - local(planned.finish, job).date()).days), "day"
    spoken = f"{days:.0f} {kind}{'' if round(days) == 1 else 's'}"
    if is_late(planned, job):
        return f"{spoken} after the promise"
    return f"{spoken} before the promise" if days >= 1 else "no room before the promise"


def closed_days(first: date, last: date, plan: models.Plan | None = None) -> frozenset[date]:
    """Return the days on which no crew works, but not those a plan asks for besides.

    Weekends where there is no crew yet.
    """
    asked = {date.fromisoformat(one["day"]) for one in plan.overtime} if plan else set()
    hours = working_hours(first, last)
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    if not hours.crews:
        return frozenset(day for day in days if day.weekday() >= 5)  # noqa: PLR2004 (Saturday)
    return frozenset(
        day
        for index, day in enumerate(days)
        if day not in asked and not any(crew.masks[index] for crew in hours.crews.values())
    )
