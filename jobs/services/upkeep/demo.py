"""The demo: an invented company and its yards, planned and published. Safe to run again."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from django.db import transaction

from crews.models import (
    CalendarEvent,
    Crew,
    CrewPhone,
    FeedLink,
    Machine,
    Person,
    Role,
    TimeOff,
)
from crews.services.crew_phone import give_out
from crews.services.links import make_link
from crews.services.nothing import fill_feeds
from crews.services.today import wall_now
from jobs import clock, models
from jobs.services.company.company_file import load_company
from jobs.services.company.share import homeowner_link
from jobs.services.files.load_job import load_job
from jobs.services.numbers.library import load_library
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.sky.demo_forecast import keep_demo_forecast

if TYPE_CHECKING:
    from datetime import datetime

FOLDER = Path(__file__).resolve().parents[3] / "fixtures" / "demo"
COMPANY = "company.toml"
BY = "demo"


class NotADemoError(Exception):
    """The database holds a real company: the demo keeps its hands off."""


@dataclass(frozen=True, slots=True)
class Ready:
    """What one needs to look at the demo."""

    email: str
    password: str
    crew_feed: str
    crew_page: str
    crew: str
    homeowner: str
    job: str
    jobs: int
    plan: int


def make_demo(*, fresh: bool = False) -> Ready:
    """Load the company and its yards, plan and publish them, and make links to look at.

    Raises
    ------
    NotADemoError
        If the database holds a company that is not the demo's.
    """
    company = models.Company.objects.first()
    if company is not None and not company.demo:
        raise NotADemoError(f"This database belongs to {company.name}, not to the demo")
    if fresh:
        clear_demo()
    load_library()
    company = load_company((FOLDER / COMPANY).read_text("utf-8"))
    now = clock.now(company)
    _load_jobs(now)
    keep_demo_forecast(now)
    plan = _published(now)
    return _look(now, plan)


@transaction.atomic
def clear_demo() -> None:
    """Take everything out that belongs to a demo company."""
    company = models.Company.objects.first()
    if company is not None and not company.demo:
        raise NotADemoError(f"This database belongs to {company.name}, not to the demo")
    models.PlanRow.objects.all().delete()
    said = models.Change.objects.filter(table="time-off").values("row")
    TimeOff.objects.filter(pk__in=said).delete()
    for table in (
        models.LostTime,
        models.Change,
        models.Plan,
        models.HistoryEntry,
        models.Override,
        models.Activity,
        models.ScopeItem,
        models.Job,
        models.Company,
    ):
        table.objects.all().delete()
    CalendarEvent.objects.all().delete()
    FeedLink.objects.all().delete()
    Crew.objects.update(gone_from=None, active=True)
    Machine.objects.update(gone=[], active=True)


def _load_jobs(now: datetime) -> None:
    """Load every job file that is not loaded yet."""
    known = set(models.Job.objects.values_list("slug", flat=True))
    for file in sorted(FOLDER.glob("*.toml")):
        if file.name != COMPANY and file.stem not in known:
            load_job(file.read_text("utf-8"), by=BY, now=now, demo=True)


def _published(now: datetime) -> models.Plan:
    """Return the published plan, made if there is none or if it misses a job."""
    plan = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    if plan is not None and plan.jobs.count() >= models.Job.objects.filter(demo=True).count():
        return plan
    made = plan_jobs(now=now, by=BY)
    assert made.plan is not None  # noqa: S101 (it was asked to be stored)
    return accept_plan(made.plan, by=BY, now=now).plan


def _look(now: datetime, plan: models.Plan) -> Ready:
    """Make fresh links and a fresh password to look at the demo with."""
    owner = Person.objects.filter(role=Role.OWNER).order_by("pk")[0]
    password = secrets.token_urlsafe(9)
    owner.set_password(password)
    owner.save(update_fields=["password"])
    crew = Crew.objects.order_by("pk")[0]
    FeedLink.objects.filter(label__startswith=BY).delete()
    _, feed = make_link(f"crew:{crew.slug}", label=f"{BY}: {crew.name}", now=now)
    CrewPhone.objects.filter(person=BY).delete()
    _, phone = give_out(crew, BY, wall_now())
    job = models.Job.objects.order_by("starts_on")[0]
    token = homeowner_link(job, by=BY, now=now)
    fill_feeds(now)
    return Ready(
        email=owner.email,
        password=password,
        crew_feed=feed,
        crew_page=phone,
        crew=crew.name,
        homeowner=token,
        job=job.name,
        jobs=models.Job.objects.count(),
        plan=plan.number,
    )
