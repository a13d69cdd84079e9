"""What was measured on site, put to the usual limits: for the office, and on a crew's phone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.http import Http404
from django.shortcuts import render
from django.views.decorators.http import require_safe

from crews.access import crew_phone, signed_in
from jobs.forms.on_site import questions
from jobs.services.pages.on_site import answers

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from crews.access import OfficeRequest


@require_safe
@signed_in
def on_site(request: OfficeRequest) -> HttpResponse:
    """Ask and answer in the office."""
    return render(request, "jobs/on_site.html", _told(request, "en") | {"section": "library"})


@require_safe
def crew_on_site(request: HttpRequest) -> HttpResponse:
    """Ask and answer on a crew's phone, in its language."""
    phone = crew_phone(request)
    if phone is None:
        raise Http404("No crew's phone")
    response = render(request, "jobs/crew_on_site.html", _told(request, phone.crew.language))
    response["Cache-Control"] = "private, no-cache"
    response["X-Robots-Tag"] = "noindex"
    return response


def _told(request: HttpRequest, language: str) -> dict[str, Any]:
    forms = questions(request.GET, language)
    asked = next((form for form in forms if form.is_bound), None)
    told = answers(asked.kind, asked.cleaned_data, language) if asked and asked.is_valid() else ()
    titles = [(f"site-q-{form.kind}", form) for form in forms]
    return {"questions": titles, "told": told, "language": language}
