"""A small office for tests: an invented company, one small yard, and people of every role."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.test import Client

from crews.models import Crew, Person, Role
from jobs.models import Company, Delivery
from jobs.services.company.company_file import load_company
from jobs.services.files.load_job import load_job
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.upkeep.demo import make_demo
from tests.put_back import put_back

if TYPE_CHECKING:
    from jobs.models import Job, Plan

HERE = Path(__file__).resolve().parent
COMPANY = (HERE.parent / "fixtures" / "demo" / "company.toml").read_text("utf-8")
SMALL_YARD = (HERE / "samples" / "jobs" / "small-yard.toml").read_text("utf-8")
SLUG = "3-finch-street"
"""Of the small yard."""
SLAB = """
[[build]]
what = "flagstone-on-slab"
where = "Bed"
area = "120 ft2"
"""
POURED = datetime(2026, 6, 11, 15, tzinfo=UTC)
"""Thursday 11 June, 11:00 in New York."""
SLAB_WORKS = (
    "dig-out", "haul-soil", "compact-ground", "spread-base", "set-forms-rebar", "inspect-forms",
    "pour-slab", "saw-joints",
)  # fmt: skip
NOW = datetime(2026, 6, 16, 18, tzinfo=ZoneInfo("America/New_York"))
"""Tuesday evening; the small yard may start on Monday 22 June."""


@put_back
def open_office() -> Company:
    """Return the invented company with its crews and machines, on Tuesday 16 June 2026."""
    return load_company(COMPANY)


@put_back
def small_job() -> Job:
    """Return a front path and a bed of shrubs, expanded."""
    return load_job(SMALL_YARD, by="test", now=NOW)


def yard_waiting_for_stone() -> Job:
    """Return the small yard of an office just opened, with stone for its path on its way."""
    made = office_with_job()
    path = made.activities.get(template="dg-path")
    Delivery.objects.create(job=made, name="Crushed stone", activity=path)
    return made


@put_back
def poured_yard() -> Job:
    """Return the small yard with a slab that was poured on Thursday 11 June, and sawn."""
    made = load_job(SMALL_YARD + SLAB, by="test", now=NOW)
    made.starts_on = date(2026, 6, 1)
    made.save()
    crew = Crew.objects.get(slug="stone-crew")
    for days, template in enumerate(reversed(SLAB_WORKS), -1):
        ended = POURED - timedelta(days=max(days, 0), hours=-3 if days < 0 else 0)
        begun = ended - timedelta(hours=2)
        rows = made.activities.filter(template=template)
        rows.update(started_at=begun, finished_at=ended, done_share=100, done_crew=crew)
    return made


@put_back
def published_plan() -> Plan:
    """Return a plan of everything, published."""
    made = plan_jobs(now=NOW, by="test")
    assert made.plan is not None
    return accept_plan(made.plan, by="test", now=NOW).plan


@put_back
def the_demo() -> Company:
    """Return the company of the demo, with its yards planned and published."""
    make_demo()
    return Company.objects.get()


@put_back
def office_with_job() -> Job:
    """Open the office with a small yard, not planned."""
    open_office()
    return small_job()


@put_back
def published_yard() -> Job:
    """Open the office with a small yard, planned and published."""
    open_office()
    made = small_job()
    published_plan()
    return made


def signed_in(role: Role = Role.OWNER) -> Client:
    """Return a browser signed in as somebody of a role."""
    person, _ = Person.objects.get_or_create(
        username=f"{role}@example.com", defaults={"name": role.label, "role": role}
    )
    client = Client()
    client.force_login(person)
    return client
