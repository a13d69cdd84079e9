"""The trade library: browse, search, and all that is known of one kind of work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.views.decorators.http import require_safe

from crews.access import signed_in
from jobs.services.pages.library import read_library_page
from jobs.services.pages.template import read_template, read_wait

from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@require_safe
@signed_in
def library(request: OfficeRequest) -> HttpResponse:
    """Every kind of work, or those that are looked for."""
    page = read_library_page(request.GET.get("q", ""))
    return answer(
        request, "jobs/library.html", {"page": page, "section": "library"}, parts=("found",)
    )


@require_safe
@signed_in
def template(request: OfficeRequest, key: str) -> HttpResponse:
    """One kind of work: what it needs, takes and waits for, why, and who says so."""
    page = read_template(key)
    return answer(request, "jobs/template.html", {"page": page, "section": "library"})


@require_safe
@signed_in
def wait(request: OfficeRequest, key: str) -> HttpResponse:
    """One wait: how long, what for, and who says so."""
    return answer(request, "jobs/wait.html", {"page": read_wait(key), "section": "library"})
