"""How sound the plan is: the published checks, for all jobs or one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from crews.access import signed_in
from jobs import clock
from jobs.models import Job
from jobs.services.pages.health import read_health

from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest

TEMPLATE, PARTS = "jobs/health.html", ("health",)


@require_safe
@signed_in
def health(request: OfficeRequest) -> HttpResponse:
    """All open jobs together."""
    page = {"page": read_health(clock.now()), "section": "plan"}
    return answer(request, TEMPLATE, page, parts=PARTS)


@require_safe
@signed_in
def job_health(request: OfficeRequest, slug: str) -> HttpResponse:
    """One job."""
    job = get_object_or_404(Job, slug=slug)
    page = {"page": read_health(clock.now(), job), "section": "jobs"}
    return answer(request, TEMPLATE, page, parts=PARTS)
