"""Pages of what went wrong. A crew's are in every language: whose phone it is may not be known, and is not looked up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.template.loader import render_to_string
from django.urls import reverse

from jobs.services.telling.words import LANGUAGES

from .errors import sent_by_nobody

if TYPE_CHECKING:
    from django.http import HttpRequest

REFUSED, NOTHING, BROKEN = 403, 404, 500


def refused(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:  # noqa: ARG001 (Django gives it)
    """Say that this may not be done."""
    return _failed(request, REFUSED)


def not_from_here(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Say that what was sent does not come from a page of ours, or from one of an older sign-in."""
    if _of_a_crew(request):
        return _failed(request, REFUSED)
    return sent_by_nobody(request, reason)


def nothing_here(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:  # noqa: ARG001 (Django gives it)
    """Say that an address leads nowhere."""
    return _failed(request, NOTHING)


def broken(request: HttpRequest) -> HttpResponse:
    """Say that it was our fault."""
    return _failed(request, BROKEN)


def _failed(request: HttpRequest, status: int) -> HttpResponse:
    """Render without asking the database, which may be what is broken."""
    if not _of_a_crew(request):
        return HttpResponse(render_to_string(f"{status}.html"), status=status)
    told = {
        "title": f"crew-failed-{status}",
        "way_out": f"crew-failed-{status}-way-out",
        "languages": LANGUAGES,
    }
    return HttpResponse(render_to_string("jobs/crew_failed.html", told), status=status)


def _of_a_crew(request: HttpRequest) -> bool:
    return request.path.startswith(reverse("crew-page"))
