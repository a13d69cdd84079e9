"""Pages of jobs: the list, the takeoff, the activities, the record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from crews.views.once import minted, uid_of
from jobs import clock
from jobs.models import Job
from jobs.services.company.share import homeowner_link
from jobs.services.pages.activities import read_activities
from jobs.services.pages.frame import job_head, shown_plan
from jobs.services.pages.jobs import read_jobs
from jobs.services.pages.record import read_record
from jobs.services.pages.takeoff import read_first_finish, read_takeoff

from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@require_safe
@signed_in
def jobs(request: OfficeRequest) -> HttpResponse:
    """Every job under way, with what is next and how its promise stands."""
    return answer(request, "jobs/jobs.html", {"page": read_jobs(clock.now()), "section": "jobs"})


@require_safe
@signed_in
def job(request: OfficeRequest, slug: str) -> HttpResponse:
    """What is to be built in one yard."""
    yard = get_object_or_404(Job, slug=slug)
    page = {"page": read_takeoff(yard), "once": minted(request), "section": "jobs"}
    return answer(request, "jobs/takeoff.html", page)


@require_safe
@signed_in
def first_finish(request: OfficeRequest, slug: str) -> HttpResponse:
    """When a yard could be done if it was the only one."""
    yard = get_object_or_404(Job, slug=slug)
    page = {
        "head": job_head(yard, "job", shown_plan()),
        "first": read_first_finish(yard),
        "section": "jobs",
    }
    return answer(request, "jobs/first_finish.html", page, parts=("first-finish",))


@require_safe
@signed_in
def activities(request: OfficeRequest, slug: str) -> HttpResponse:
    """Every activity of one job."""
    yard = get_object_or_404(Job, slug=slug)
    return answer(
        request, "jobs/activities.html", {"page": read_activities(yard), "section": "jobs"}
    )


@require_safe
@signed_in
def record(request: OfficeRequest, slug: str) -> HttpResponse:
    """Who changed what, and when."""
    yard = get_object_or_404(Job, slug=slug)
    return answer(request, "jobs/record.html", {"page": read_record(yard), "section": "jobs"})


@require_POST
@never_cache
@may_edit
def share(request: OfficeRequest, slug: str) -> HttpResponse:
    """Make a secret link for the homeowner and show it, this once."""
    yard = get_object_or_404(Job, slug=slug)
    by, now = str(request.user), clock.now()
    token = homeowner_link(yard, by=by, now=now, once=uid_of(request))
    address = request.build_absolute_uri(reverse("homeowner", args=[token]))
    messages.success(request, f"A link for the homeowner of {yard.name} was made.")
    head = job_head(yard, "job", shown_plan())
    return render(request, "jobs/shared.html", {"head": head, "address": address})
