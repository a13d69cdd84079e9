"""Terms told in words, where there is no page to choose from: a yard by its slug, a work as a job file names it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction

from crews.models import Crew
from jobs import models

from .terms import TermRefusedError, add_term

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date, datetime


class Told(NamedTuple):
    """One term as somebody types it; empty where its kind is not about that."""

    kind: str
    job: str = ""
    work: str = ""
    crew: str = ""
    day: date | None = None


@transaction.atomic
def say_terms(told: Iterable[Told], *, by: str, now: datetime) -> None:
    """Say what must hold in the ways out against the published plan; all of it, or nothing.

    Raises
    ------
    TermRefusedError
        If there is no such yard, work or crew, several works are meant, or the term is refused.
    """
    published = models.Plan.objects.filter(state=models.Plan.State.PUBLISHED).first()
    for one in told:
        if published is None:
            raise TermRefusedError("kind", "Nothing is published that could be kept.")
        add_term(_read(one, published), by=by, now=now)


def _read(told: Told, published: models.Plan) -> models.Term:
    job = models.Job.objects.filter(slug=told.job).first()
    if told.job and job is None:
        raise TermRefusedError("about", f"there is no job called {told.job}")
    crew = Crew.objects.filter(slug=told.crew).first()
    if told.crew and crew is None:
        known = ", ".join(Crew.objects.values_list("slug", flat=True))
        raise TermRefusedError("crew", f"there is no crew called {told.crew}; crews: {known}")
    work = _work(job, told.work) if job is not None and told.work else None
    return models.Term(
        kind=told.kind, against=published, activity=work, job=job, crew=crew, day=told.day
    )


def _work(job: models.Job, named: str) -> models.Activity:
    """The one work that is called so: by template, name or id."""
    rows = list(job.activities.filter(retired=False))
    found = [row for row in rows if named in (row.template, row.name, row.uid)]
    if not found:
        raise TermRefusedError("about", f"{job.name} has no work called {named}")
    if len(found) > 1:
        meant = "; ".join(f"{row.uid} {row.name}" for row in found)
        raise TermRefusedError("about", f"{named} is several works of {job.name}: {meant}")
    return found[0]
