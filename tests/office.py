"""A small office for tests: an invented company, one small yard, and people of every role."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.test import Client

from crews.models import Person, Role
from jobs.services.company.company_file import load_company
from jobs.services.files.load_job import load_job
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.plan_jobs import plan_jobs

if TYPE_CHECKING:
    from jobs.models import Company, Job, Plan

HERE = Path(__file__).resolve().parent
COMPANY = (HERE.parent / "fixtures" / "demo" / "company.toml").read_text("utf-8")
SMALL_YARD = (HERE / "samples" / "jobs" / "small-yard.toml").read_text("utf-8")
NOW = datetime(2026, 6, 16, 18, tzinfo=ZoneInfo("America/New_York"))
"""Tuesday evening; the small yard may start on Monday 22 June."""


def open_office() -> Company:
    """Return the invented company with its crews and machines, on Tuesday 16 June 2026."""
    return load_company(COMPANY, demo=True)


def small_job() -> Job:
    """Return a front path and a bed of shrubs, expanded."""
    return load_job(SMALL_YARD, by="test", now=NOW)


def published_plan() -> Plan:
    """Return a plan of everything, published."""
    made = plan_jobs(now=NOW, by="test")
    assert made.plan is not None
    return accept_plan(made.plan, by="test", now=NOW).plan


def signed_in(role: Role = Role.OWNER) -> Client:
    """Return a browser signed in as somebody of a role."""
    person, _ = Person.objects.get_or_create(
        username=f"{role}@example.com", defaults={"name": role.label, "role": role}
    )
    client = Client()
    client.force_login(person)
    return client
