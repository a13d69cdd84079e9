"""The homeowner's page: no sign-in, a secret link."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from crews.access import secret_link, too_many_misses
from jobs import clock
from jobs.models import Job
from jobs.services.pages.homeowner import read_homeowner

if TYPE_CHECKING:
    from django.http import HttpRequest


@require_safe
def homeowner(request: HttpRequest, token: str) -> HttpResponse:
    """What comes next in one garden."""
    try:
        link = secret_link(token, "homeowner")
    except Http404:
        if too_many_misses(request):
            return HttpResponse("No such page\n", "text/plain; charset=utf-8", status=429)
        raise
    job = get_object_or_404(Job, uid=link.subject.partition(":")[2])
    page = read_homeowner(job, clock.now())
    response = render(request, "jobs/homeowner.html", {"page": page})
    response["Cache-Control"] = "private, max-age=300"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex"
    return response
