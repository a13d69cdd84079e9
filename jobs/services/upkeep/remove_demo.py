"""The demo taken out again: the database is as new, but for sign-ins of one's own."""

from __future__ import annotations

import tomllib

from django.db import transaction

from crews.models import Crew, Machine, Person, TimeOff, WorkingWeek
from jobs import models

from .demo import COMPANY, FOLDER, NotADemoError, clear_demo


class YoursTooError(Exception):
    """There are jobs of one's own in the demo company."""


@transaction.atomic
def remove_demo(*, with_mine: bool = False) -> int:
    """Take the demo company out with its jobs, crews, machines and sign-ins; return how many jobs.

    Raises
    ------
    NotADemoError
        If there is no demo, or the database holds a real company.
    YoursTooError
        If somebody set jobs up in the demo and did not say that they go too.
    """
    company = models.Company.objects.first()
    if company is None:
        raise NotADemoError("There is no demo in this database")
    mine = list(models.Job.objects.filter(demo=False).values_list("name", flat=True))
    if company.demo and mine and not with_mine:
        raise YoursTooError(
            f"{', '.join(mine)}: set up by you in the demo. Take them out as job files first "
            "(a job's page, at the foot), or say --with-mine"
        )
    jobs = models.Job.objects.count()
    clear_demo()
    for table in (TimeOff, Machine, Crew, WorkingWeek):
        table.objects.all().delete()
    told = tomllib.loads((FOLDER / COMPANY).read_text("utf-8"))
    emails = [row["email"] for row in told.get("person", [])]
    Person.objects.filter(username__in=emails).delete()
    return jobs
